package server

// The JSON shapes of recorded work. Areas are m2, amounts in the unit that is named
// beside them, rates in that unit per m2; null is not known.

type workListJSON struct {
	_          struct{}   `doc:"Recorded operations."`
	Operations []workJSON `json:"operations" doc:"The latest first."`
	Total      int        `json:"total" minimum:"0" doc:"How many there are in all."`
	Waiting    int        `json:"waiting" minimum:"0" doc:"Sessions and joins that are still to be worked out: there may be more."`
	Failed     int        `json:"failed" minimum:"0" doc:"Sessions and joins that cannot be worked out."`
}

type workJSON struct {
	_           struct{}          `doc:"One job as it counts: an operation of a session, or several that were joined."`
	Session     string            `json:"session" doc:"Of a joined one that of its first part."`
	Operation   int               `json:"operation" minimum:"1" doc:"Its number in the session."`
	Parts       []workPartJSON    `json:"parts" doc:"Of a joined one; else empty."`
	Join        *int              `json:"join" minimum:"1" doc:"Line of the joins that made it; null: it is of one session."`
	Field       string            `json:"field" doc:"Empty: not stated."`
	FieldID     *string           `json:"field_id" doc:"In the catalogue."`
	Kind        string            `json:"kind" doc:"Such as seeding."`
	Crop        string            `json:"crop" doc:"As stated in the session, else of the season; empty: not known."`
	CropStated  bool              `json:"crop_stated" doc:"It was stated in the session."`
	Season      *string           `json:"season" doc:"Id in the catalogue."`
	Year        *int              `json:"year" doc:"Of the season; without one of the calendar."`
	Start       *string           `json:"start" format:"date-time" doc:"First moment worked, UTC by the receiver."`
	End         *string           `json:"end" format:"date-time" doc:"Last moment worked."`
	Area        workAreaJSON      `json:"area"`
	OverlapBy   overlapByJSON     `json:"overlap_by"`
	WorkingS    float64           `json:"working_s" minimum:"0" doc:"Moving with a section on."`
	FieldTimeS  float64           `json:"field_time_s" minimum:"0" doc:"From the first moment worked to the last, stops included; of a joined one its parts' added up."`
	DistanceM   float64           `json:"distance_m" minimum:"0" doc:"Worked."`
	Implement   string            `json:"implement" doc:"Name of the one that worked last; empty: not known."`
	WidthM      *float64          `json:"width_m" minimum:"0" doc:"Of its bar."`
	Products    []workProductJSON `json:"products" doc:"Each name and unit once, from whatever tanks."`
	People      []string          `json:"people" doc:"Who worked; an empty name: for a part of it nobody was named."`
	Bounds      *[4]float64       `json:"bounds" doc:"West, south, east, north of the ground, degrees."`
	CapacityPer *float64          `json:"capacity_m2_per_s" minimum:"0" doc:"Field capacity: covered ground over the field time."`
	Efficiency  *float64          `json:"efficiency" minimum:"0" doc:"Field efficiency: the capacity over what the width would do at the speed of the work."`
}

type workPartJSON struct {
	_         struct{} `doc:"An operation of a session that is part of a joined one."`
	Session   string   `json:"session" doc:"Name of the session."`
	Operation int      `json:"operation" minimum:"1" doc:"Number in its session."`
	Start     *string  `json:"start" format:"date-time" doc:"First moment worked, UTC by the receiver."`
	End       *string  `json:"end" format:"date-time" doc:"Last moment worked."`
}

type workAreaJSON struct {
	_           struct{} `doc:"Areas on the ground."`
	FieldM2     *float64 `json:"field_m2" minimum:"0" doc:"Inside the boundary."`
	GrossM2     float64  `json:"gross_m2" minimum:"0" doc:"Counted as often as it was worked."`
	CoveredM2   float64  `json:"covered_m2" minimum:"0" doc:"Worked at least once."`
	OverlapM2   float64  `json:"overlap_m2" minimum:"0" doc:"Gross minus covered."`
	SkipM2      *float64 `json:"skip_m2" minimum:"0" doc:"Too narrow for a pass."`
	RemainingM2 *float64 `json:"remaining_m2" minimum:"0" doc:"Uncovered inside the boundary, no skip."`
	OutsideM2   *float64 `json:"outside_m2" minimum:"0" doc:"Covered outside the boundary."`
}

type workProductJSON struct {
	_           struct{} `doc:"What was used of one product."`
	Name        string   `json:"name" doc:"Empty: not stated."`
	Unit        string   `json:"unit" enum:"kg,l,seeds," doc:"Empty: not known."`
	Tanks       []int    `json:"tanks" doc:"Numbers."`
	AreaM2      float64  `json:"area_m2" minimum:"0" doc:"Gross."`
	RatedM2     float64  `json:"rated_m2" minimum:"0" doc:"Of it the rate was known."`
	Applied     *float64 `json:"applied" minimum:"0" doc:"Amount."`
	MeanPerM2   *float64 `json:"mean_rate_per_m2" minimum:"0" doc:"Amount over the ground on which the rate was known."`
	TargetPerM2 *float64 `json:"mean_target_per_m2" minimum:"0" doc:"Weighed by area."`
}

type pastSessionJSON struct {
	_                struct{}         `doc:"A recorded session."`
	Session          string           `json:"session" doc:"Name of the session."`
	State            string           `json:"state" enum:"current,working,failed" doc:"working: it is being worked out anew, figures are the ones before."`
	Error            *string          `json:"error" doc:"Why it cannot be worked out."`
	Share            *float64         `json:"share" minimum:"0" maximum:"1" doc:"Of it that is worked out, while it is."`
	Start            *string          `json:"start" format:"date-time" doc:"First moment worked, UTC by the receiver."`
	End              *string          `json:"end" format:"date-time" doc:"Last moment worked."`
	Bytes            int64            `json:"bytes" minimum:"0" doc:"Size of the recording."`
	Warnings         []string         `json:"warnings" doc:"Of the replay."`
	Operations       []workDetailJSON `json:"operations" doc:"In order."`
	Corrections      []correctedJSON  `json:"corrections" doc:"Every line that was said about it later, in order."`
	CorrectionFaults []string         `json:"correction_faults" doc:"What is wrong with lines that say nothing that acts."`
}

type workDetailJSON struct {
	_           struct{}          `doc:"An operation of a session with all that its record says."`
	Work        workJSON          `json:"work"`
	JoinedInto  *workRefJSON      `json:"joined_into" doc:"The joined operation that it is a part of."`
	GrowthStage *int              `json:"growth_stage" minimum:"0" maximum:"99" doc:"BBCH."`
	Tanks       []workTankJSON    `json:"tanks" doc:"Products by tank."`
	People      []workPersonJSON  `json:"people" doc:"Their shares."`
	Refills     []workRefillJSON  `json:"refills" doc:"In order."`
	Weather     []workWeatherJSON `json:"weather" doc:"As it was stated."`
	Notes       []workNoteJSON    `json:"notes" doc:"To be shown with it."`
	Weighed     []workWeighedJSON `json:"weighed" doc:"By the scale."`
	Nutrients   *nutrientsJSON    `json:"nutrients" doc:"On the covered ground; null where those of a product are not known."`
	Costs       []moneyJSON       `json:"costs" doc:"By currency, from the prices of the catalogue."`
	Unknown     unknownJSON       `json:"unknown"`
}

type workRefJSON struct {
	_         struct{} `doc:"An operation by its name."`
	Session   string   `json:"session" doc:"Name of the session."`
	Operation int      `json:"operation" minimum:"1" doc:"Number in its session."`
}

type workTankJSON struct {
	_           struct{} `doc:"One product from one tank."`
	Tank        int      `json:"tank" minimum:"0" doc:"0: from several."`
	Name        string   `json:"name"`
	Unit        string   `json:"unit" enum:"kg,l,seeds," doc:"Of amounts: kg, l or seeds; empty: not known."`
	AreaM2      float64  `json:"area_m2" minimum:"0" doc:"Gross."`
	Applied     *float64 `json:"applied" minimum:"0" doc:"Amount."`
	MeanPerM2   *float64 `json:"mean_rate_per_m2" minimum:"0" doc:"Amount over the ground on which the rate was known."`
	TargetPerM2 *float64 `json:"mean_target_per_m2" minimum:"0" doc:"Weighed by area."`
}

type workPersonJSON struct {
	_         struct{}        `doc:"One person's share."`
	Name      string          `json:"name" doc:"Empty: nobody was named."`
	GrossM2   float64         `json:"gross_m2" minimum:"0" doc:"Counted as often as it was worked."`
	WorkingS  float64         `json:"working_s" minimum:"0" doc:"Moving with a section on."`
	DistanceM float64         `json:"distance_m" minimum:"0" doc:"Worked."`
	Products  []workShareJSON `json:"products" doc:"What they laid."`
}

type workShareJSON struct {
	_       struct{} `doc:"What a person laid of a product."`
	Name    string   `json:"name"`
	Unit    string   `json:"unit" enum:"kg,l,seeds," doc:"Of amounts: kg, l or seeds; empty: not known."`
	AreaM2  float64  `json:"area_m2" minimum:"0" doc:"Gross."`
	Applied *float64 `json:"applied" minimum:"0" doc:"Amount."`
}

type workRefillJSON struct {
	_       struct{} `doc:"A tank that was filled or looked into."`
	Time    *string  `json:"time" format:"date-time" doc:"UTC by the receiver."`
	Tank    int      `json:"tank" minimum:"1"`
	Product string   `json:"product" doc:"Its name."`
	Unit    string   `json:"unit" enum:"kg,l,seeds," doc:"Of amounts: kg, l or seeds; empty: not known."`
	Amount  *float64 `json:"amount" doc:"Added."`
	Level   *float64 `json:"level" doc:"In it then."`
	Lot     string   `json:"lot" doc:"As it was said."`
	Person  string   `json:"person" doc:"Who said it."`
}

type workWeatherJSON struct {
	_            struct{} `doc:"The weather as it was stated."`
	Time         *string  `json:"time" format:"date-time" doc:"UTC by the receiver."`
	WindMPS      *float64 `json:"wind_mps"`
	WindFromDeg  *float64 `json:"wind_from_deg"`
	TemperatureC *float64 `json:"temperature_c"`
	HumidityPct  *float64 `json:"humidity_pct"`
}

type workNoteJSON struct {
	_    struct{} `doc:"A note."`
	Time *string  `json:"time" format:"date-time" doc:"UTC by the receiver."`
	Text string   `json:"text" doc:"As it was said."`
}

type workWeighedJSON struct {
	_       struct{} `doc:"What went out of a tank between two moments, as weighed and by the record."`
	Tank    int      `json:"tank" minimum:"1"`
	From    *string  `json:"from" format:"date-time" doc:"From then on."`
	To      *string  `json:"to" format:"date-time" doc:"Until then."`
	Unit    string   `json:"unit" enum:"kg,l,seeds," doc:"Of amounts: kg, l or seeds; empty: not known."`
	Weighed *float64 `json:"weighed" doc:"By the scale."`
	Metered *float64 `json:"metered" doc:"Before any factor."`
	Applied *float64 `json:"applied" doc:"With the factor in force."`
	Ticket  string   `json:"ticket" doc:"Of the scale."`
}

type correctedJSON struct {
	_           struct{} `doc:"A line that was said later about a session."`
	Number      int      `json:"number" minimum:"1" doc:"Of the line in its file."`
	From        *string  `json:"from" format:"date-time" doc:"From then on."`
	To          *string  `json:"to" format:"date-time" doc:"Until then."`
	Why         string   `json:"why" doc:"The reason that was given."`
	By          *string  `json:"by" doc:"Who made it."`
	Made        *string  `json:"made" format:"date-time" doc:"When."`
	Undoes      *int     `json:"undoes" minimum:"1" doc:"The line that it takes back."`
	TakenBackBy *int     `json:"taken_back_by" minimum:"1" doc:"The line that took it back."`
	Acts        bool     `json:"acts" doc:"False: it was taken back or cannot act."`
	Statement   anyJSON  `json:"statement" doc:"What it says; empty where it says nothing that acts."`
}

type totalsListJSON struct {
	_       struct{}    `doc:"What work adds up to."`
	By      string      `json:"by" enum:"field,crop,product,person,season,operation,session" doc:"The grouping."`
	Groups  []groupJSON `json:"groups" doc:"By their keys."`
	Total   int         `json:"total" minimum:"0" doc:"How many groups there are in all."`
	All     groupJSON   `json:"all"`
	Waiting int         `json:"waiting" minimum:"0" doc:"Sessions and joins that are still to be worked out."`
	Failed  int         `json:"failed" minimum:"0" doc:"Sessions and joins that cannot be worked out."`
}

type groupJSON struct {
	_           struct{}      `doc:"The work of one field, say. Of groups by product ground that got several products is in the group of each."`
	Key         string        `json:"key" doc:"Empty: not stated."`
	Operations  int           `json:"operations" minimum:"0" doc:"In which it has a part; a joined one counts once."`
	Sessions    int           `json:"sessions" minimum:"0" doc:"In which it has a part."`
	GrossM2     float64       `json:"gross_m2" doc:"Counted as often as it was worked."`
	CoveredM2   float64       `json:"covered_m2" doc:"Worked at least once."`
	OverlapM2   float64       `json:"overlap_m2" doc:"Gross minus covered."`
	LandM2      float64       `json:"land_m2" doc:"Of each field and season the area inside the boundary, without one the most that an operation covered. Nutrients per area are on it."`
	WorkingS    float64       `json:"working_s" doc:"Moving with a section on."`
	FieldTimeS  float64       `json:"field_time_s" doc:"From the first moment worked to the last of each operation."`
	DistanceM   float64       `json:"distance_m" doc:"Worked."`
	CapacityPer *float64      `json:"capacity_m2_per_s" minimum:"0" doc:"Field capacity: covered ground over the field time."`
	TheoryPer   *float64      `json:"theoretical_m2_per_s" minimum:"0" doc:"What the width would do at the speed of the work."`
	Efficiency  *float64      `json:"efficiency" minimum:"0" doc:"The one over the other."`
	Products    []totalJSON   `json:"products" doc:"By name, then unit."`
	Nutrients   nutrientsJSON `json:"nutrients"`
	Costs       []moneyJSON   `json:"costs" doc:"By currency, from the prices of the catalogue."`
	Unknown     unknownJSON   `json:"unknown"`
	Split       int           `json:"split" minimum:"0" doc:"Operations of several people: their covered ground and field time are split as gross area and working time are."`
}

type totalJSON struct {
	_         struct{} `doc:"What was used of one product."`
	Name      string   `json:"name" doc:"Empty: not stated."`
	Unit      string   `json:"unit" enum:"kg,l,seeds," doc:"Of amounts: kg, l or seeds; empty: not known."`
	Applied   *float64 `json:"applied" doc:"Amount."`
	AreaM2    float64  `json:"area_m2" doc:"Gross."`
	CoveredM2 float64  `json:"covered_m2" doc:"Of operations in which it was not laid everywhere, the same part of the covered ground."`
	MeanPerM2 *float64 `json:"mean_rate_per_m2" doc:"The amount over the ground on which the rate was known, counted as often as it was passed."`
	Uses      int      `json:"operations" minimum:"0" doc:"That used it."`
}

type nutrientsJSON struct {
	_         struct{} `doc:"Nutrients of the products whose analysis the catalogue knows."`
	NKg       float64  `json:"n_kg" doc:"Nitrogen."`
	P2O5Kg    float64  `json:"p2o5_kg" doc:"Phosphate."`
	K2OKg     float64  `json:"k2o_kg" doc:"Potash."`
	SKg       float64  `json:"s_kg" doc:"As the element."`
	PKg       float64  `json:"p_kg" doc:"The phosphorus in the phosphate."`
	KKg       float64  `json:"k_kg" doc:"The potassium in the potash."`
	NPerM2    *float64 `json:"n_kg_per_m2" doc:"On the land."`
	P2O5PerM2 *float64 `json:"p2o5_kg_per_m2" doc:"On the land."`
	K2OPerM2  *float64 `json:"k2o_kg_per_m2" doc:"On the land."`
	SPerM2    *float64 `json:"s_kg_per_m2" doc:"On the land."`
	PPerM2    *float64 `json:"p_kg_per_m2" doc:"On the land."`
	KPerM2    *float64 `json:"k_kg_per_m2" doc:"On the land."`
}

type moneyJSON struct {
	_        struct{} `doc:"An amount of money."`
	Currency string   `json:"currency" doc:"Such as EUR."`
	Amount   float64  `json:"amount" doc:"In the unit."`
}

type unknownJSON struct {
	_          struct{} `doc:"What could not be added up."`
	Amounts    int      `json:"amounts" minimum:"0" doc:"Uses of a product of which no amount is known."`
	RateM2     float64  `json:"rate_m2" minimum:"0" doc:"Ground of products on which the rate was not known."`
	Nutrients  int      `json:"nutrients" minimum:"0" doc:"Amounts whose nutrients are not known: the product, its analysis or its density is not in the catalogue."`
	Costs      int      `json:"costs" minimum:"0" doc:"Amounts without a price."`
	Capacities int      `json:"capacities" minimum:"0" doc:"Operations without an implement or a time."`
	Fields     int      `json:"fields" minimum:"0" doc:"Operations in no named field."`
	People     int      `json:"people" minimum:"0" doc:"Operations of nobody named, in whole or in part."`
}

type progressJSON struct {
	_              struct{}        `doc:"The plans of a season beside what was done."`
	Season         string          `json:"season" doc:"As asked for."`
	PlannedM2      float64         `json:"planned_m2" minimum:"0" doc:"Of all steps whose field's area is known."`
	DoneM2         float64         `json:"done_m2" minimum:"0" doc:"Of them."`
	Unknown        int             `json:"unknown" minimum:"0" doc:"Steps of fields without an area."`
	Steps          []planStepJSON  `json:"steps" doc:"By field and order."`
	Total          int             `json:"total" minimum:"0" doc:"How many steps there are in all."`
	Unplanned      []unplannedJSON `json:"unplanned" doc:"Work of these seasons without a plan, the latest first; 200 at most."`
	UnplannedTotal int             `json:"unplanned_total" minimum:"0" doc:"How much of it there is in all."`
}

type planStepJSON struct {
	_             struct{}      `doc:"One plan and how much of it is done."`
	Plan          string        `json:"plan" doc:"Id in the catalogue."`
	Season        string        `json:"season" doc:"Id in the catalogue."`
	Field         string        `json:"field"`
	Crop          string        `json:"crop" doc:"Of the season."`
	Order         int           `json:"order" minimum:"1" doc:"In the season."`
	Operation     string        `json:"operation" doc:"Such as seeding."`
	Product       string        `json:"product" doc:"Its name."`
	Rate          string        `json:"rate" doc:"As planned, with its unit."`
	PlannedM2     *float64      `json:"planned_m2" minimum:"0" doc:"Area of the field."`
	DoneM2        float64       `json:"done_m2" minimum:"0" doc:"Covered."`
	Share         *float64      `json:"share" minimum:"0" maximum:"1" doc:"Done of planned."`
	Unit          string        `json:"unit" enum:"kg,l,seeds," doc:"Of amounts: kg, l or seeds; empty: not known."`
	PlannedAmount *float64      `json:"planned_amount" doc:"At the planned rate on the whole field."`
	Applied       *float64      `json:"applied" doc:"In the unit of the plan."`
	MeanPerM2     *float64      `json:"mean_rate_per_m2" doc:"Amount over the ground on which the rate was known."`
	Operations    []workRefJSON `json:"operations" doc:"That did it, the latest first."`
}

type unplannedJSON struct {
	_         struct{}    `doc:"Work without a plan."`
	Work      workRefJSON `json:"work"`
	Season    string      `json:"season" doc:"Id in the catalogue."`
	Field     string      `json:"field"`
	Operation string      `json:"operation" doc:"Such as seeding."`
	Product   string      `json:"product" doc:"Its name."`
	CoveredM2 float64     `json:"covered_m2" minimum:"0" doc:"Worked at least once."`
}

type completeListJSON struct {
	_       struct{}        `doc:"What records of an application have to state, laid beside one operation."`
	Caution string          `json:"caution" doc:"Always to be shown."`
	Lists   []checklistJSON `json:"lists" doc:"One a published text."`
}

type checklistJSON struct {
	_         struct{}      `doc:"One text laid beside the operation."`
	Rules     string        `json:"rules" doc:"Its name."`
	Title     string        `json:"title" doc:"Of the text."`
	Concerned string        `json:"concerned" enum:"unsaid,yes,no" doc:"The operation is of the kind that the text is about; not whether it binds you."`
	Why       string        `json:"why" doc:"Of that answer."`
	Notes     []string      `json:"notes" doc:"To be shown with it."`
	RecordBy  *string       `json:"record_by" format:"date-time" doc:"It has to be written before this moment."`
	KeepUntil *string       `json:"keep_until" format:"date-time" doc:"The last day on which it has to be kept."`
	Elements  []elementJSON `json:"elements" doc:"None where it is not concerned."`
}

type elementJSON struct {
	_       struct{} `doc:"One element that a text asks for."`
	ID      string   `json:"id" doc:"Its name."`
	Product *string  `json:"product" doc:"That it is of; null: of the operation."`
	Words   string   `json:"words" doc:"What it is."`
	State   string   `json:"state" enum:"missing,present,not_applicable,depends" doc:"depends: asked for in some cases only, and nobody said whether this is one."`
	Value   string   `json:"value" doc:"What is known; empty: nothing."`
	Doubt   string   `json:"doubt" doc:"Why that is less than the whole; empty: nothing said."`
	When    string   `json:"when" doc:"It is required."`
	Enter   string   `json:"enter" doc:"What to enter."`
	Where   string   `json:"where" doc:"And where: product, field, season, person, operation or elsewhere."`
	Act     string   `json:"act" doc:"The text."`
	Section string   `json:"section" doc:"Of the text."`
	Quote   string   `json:"quote" doc:"Its wording; empty: only its sense is known."`
	Read    string   `json:"read" doc:"How it was read, and what to look up again."`
}
