package server

// The JSON shapes of choosing, beginning, tanks and the ready list.

type readyJSON struct {
	_     struct{}        `doc:"What is missing or doubtful. Work is recorded whatever is in the list."`
	Items []readyItemJSON `json:"items" doc:"The gravest first; empty while a recorded session is shown."`
}

type readyItemJSON struct {
	_        struct{} `doc:"One thing that is missing or doubtful."`
	Kind     string   `json:"kind" enum:"no_field,no_implement,fix_quality,target_over_limit,interval_runs,tank_without_product,tank_unit,section_count,implement_width,target_off_plan,no_boundary,no_person" doc:"What it is about."`
	Severity string   `json:"severity" enum:"note,warning" doc:"warning: the record or a person may suffer."`
	Subject  *string  `json:"subject" doc:"Such as tank 1, or a product; null where there is only one."`
	Text     string   `json:"text" doc:"What is the matter, a sentence or two."`
	Step     stepJSON `json:"step"`
}

type stepJSON struct {
	_       struct{} `doc:"The one step that settles it. begin, put_product, set_target and say_person are said with one request; the others open what a person looks at or enters."`
	Do      string   `json:"do" enum:"begin,put_product,set_target,say_person,see,choose_field,draw_boundary,choose_implement,choose_person,open_tank,open_arrivals" doc:"What it does."`
	Text    string   `json:"text" doc:"On its button."`
	Field   *string  `json:"field" doc:"Name of a field."`
	Tank    *int     `json:"tank" minimum:"1" doc:"Number of a tank."`
	Product *string  `json:"product" doc:"Name of a product."`
	Target  *string  `json:"target" doc:"With its unit, such as 112 kg/ha."`
	Person  *string  `json:"person" doc:"Name or role."`
}

type choicesJSON struct {
	_          struct{}            `doc:"What there is to choose for work on a field, and what would be said."`
	Field      *string             `json:"field" doc:"Its name; null: none was named and none is in hand."`
	HasOutline bool                `json:"has_outline" doc:"An outline of it is known."`
	AreaM2     *float64            `json:"area_m2" minimum:"0" doc:"Inside it."`
	Now        nowJSON             `json:"now"`
	Seasons    []seasonChoiceJSON  `json:"seasons" doc:"Of the field."`
	Plans      []planChoiceJSON    `json:"plans" doc:"Of the season of the day, in order."`
	Products   []productChoiceJSON `json:"products" doc:"Planned first, then laid here last, then laid last, then the others by name."`
	Tanks      []tankChoiceJSON    `json:"tanks" doc:"As they are now, ascending by number."`
	Implements []toolJSON          `json:"implements" doc:"Of the catalogue."`
	Tractors   []itemJSON          `json:"tractors" doc:"Of the catalogue."`
	People     []itemJSON          `json:"people" doc:"Of the catalogue; who worked last comes first."`
	LastPerson *string             `json:"last_person" doc:"Who worked last."`
	Begin      beginJSON           `json:"begin" doc:"What is suggested: send it to /api/begin as it is, or changed."`
	Would      sayingJSON          `json:"would" doc:"What that comes to."`
}

type nowJSON struct {
	_         struct{} `doc:"What is in force."`
	Field     *string  `json:"field" doc:"Null: not stated, as of the others."`
	Operation *string  `json:"operation" doc:"Such as seeding."`
	Crop      *string  `json:"crop" doc:"What grows or will grow."`
	Implement *string  `json:"implement" doc:"Its name; empty: it has none."`
	Person    *string  `json:"person" doc:"Who works."`
}

type seasonChoiceJSON struct {
	_       struct{} `doc:"A crop on the field."`
	ID      string   `json:"id"`
	Crop    string   `json:"crop" doc:"Its name."`
	When    string   `json:"when" doc:"A year, or days."`
	Current bool     `json:"current" doc:"The day falls in it."`
}

type planChoiceJSON struct {
	_         struct{} `doc:"A product that is planned."`
	ID        string   `json:"id"`
	Order     int      `json:"order" minimum:"1" doc:"Plans of the same order go on together."`
	Operation string   `json:"operation" doc:"Such as seeding."`
	Product   string   `json:"product" doc:"Its name."`
	Rate      string   `json:"rate" doc:"With its unit."`
	Tank      *int     `json:"tank" minimum:"1" doc:"Null: any."`
	Note      string   `json:"note"`
	DoneM2    *float64 `json:"done_m2" minimum:"0" doc:"Gross ground of this season that this board saw laid; null: none."`
	DoneShare *float64 `json:"done_share" minimum:"0" maximum:"1" doc:"Of the field; null where not known."`
	Suggested bool     `json:"suggested" doc:"It is among what is suggested."`
}

type productChoiceJSON struct {
	_              struct{} `doc:"A product to choose."`
	ID             *string  `json:"id" doc:"In the catalogue; null: it is not there."`
	Name           string   `json:"name"`
	Kind           *string  `json:"kind" enum:"seed,seed treatment,granular,liquid,anhydrous,inoculant,crop protection,blend" doc:"Null where not known."`
	From           string   `json:"from" enum:"plan,here,last,catalogue" doc:"Why it is here: planned, laid on this field lately, laid lately, or in the catalogue."`
	Target         *string  `json:"target" doc:"With its unit: as planned, else as laid last."`
	Tank           *int     `json:"tank" minimum:"1" doc:"As planned, else as laid last; null: any."`
	MaxRate        *string  `json:"max_rate" doc:"The limit that a person entered; null: none."`
	ReentryH       *float64 `json:"reentry_h" minimum:"0" doc:"Hours before people may enter again, as a person entered them; null: none."`
	PreHarvestDays *int     `json:"pre_harvest_days" minimum:"0" doc:"Days to the harvest, as a person entered them; null: none."`
}

type tankChoiceJSON struct {
	_        struct{} `doc:"A tank as it is stated."`
	Tank     int      `json:"tank" minimum:"1"`
	Product  *string  `json:"product" doc:"What it holds; null: not stated."`
	Target   *string  `json:"target" doc:"With its unit."`
	Capacity *string  `json:"capacity" doc:"With its unit."`
	Unit     *string  `json:"unit" enum:"kg,l,seeds" doc:"In which it is counted; null while not known."`
	Metered  bool     `json:"metered" doc:"The controller has spoken of it."`
}

type itemJSON struct {
	_    struct{} `doc:"An item of the catalogue."`
	ID   string   `json:"id"`
	Name string   `json:"name"`
}

type toolJSON struct {
	_         struct{} `doc:"An implement of the catalogue."`
	ID        string   `json:"id"`
	Name      string   `json:"name"`
	Operation string   `json:"operation" doc:"Such as seeding, empty where not stated."`
	WidthM    float64  `json:"width_m" minimum:"0" doc:"Of all sections."`
	Sections  int      `json:"sections" minimum:"0" doc:"How many."`
}

type beginJSON struct {
	_         struct{}       `doc:"What begins. A member that is left out stays as it is."`
	Field     *string        `json:"field,omitempty" nullable:"true" maxLength:"200" doc:"Name of the field."`
	Season    *string        `json:"season,omitempty" nullable:"true" doc:"Id of its season; left out: that of the plans, else that of the day."`
	Plans     []string       `json:"plans,omitempty" maxItems:"50" doc:"Ids of plans of one season and operation, each of which gets a tank."`
	Operation *string        `json:"operation,omitempty" nullable:"true" maxLength:"200" doc:"Such as seeding; left out: that of the plans."`
	Tanks     []tankWishJSON `json:"tanks,omitempty" maxItems:"99" doc:"Over what the plans have for these tanks."`
	Implement *string        `json:"implement,omitempty" nullable:"true" doc:"Id or name of an implement of the catalogue."`
	Tractor   *string        `json:"tractor,omitempty" nullable:"true" doc:"Id or name of a tractor of the catalogue: the antenna's distances are those of the tractor."`
	Person    *string        `json:"person,omitempty" nullable:"true" maxLength:"200" doc:"Name or role of who works; empty: nobody."`
	Boundary  bool           `json:"boundary,omitempty" doc:"State the field's outline too, where it is known."`
}

type tankWishJSON struct {
	_       struct{} `doc:"What goes into a tank."`
	Tank    int      `json:"tank" minimum:"1" maximum:"99" doc:"Number."`
	Product *string  `json:"product,omitempty" nullable:"true" maxLength:"200" doc:"Id or name of a product; left out: what is in it."`
	Target  *string  `json:"target,omitempty" nullable:"true" doc:"With its unit; left out: that of the plan of the product, else as it is."`
}

type putJSON struct {
	_       struct{} `doc:"What changes of a tank from now on."`
	Product *string  `json:"product,omitempty" nullable:"true" maxLength:"200" doc:"Id or name of a product; left out: what is in it."`
	Target  *string  `json:"target,omitempty" nullable:"true" doc:"With its unit; left out: as it is, where it fits the product."`
}

type refillJSON struct {
	_      struct{} `doc:"A tank was filled, or looked into: one of amount and level."`
	Amount *string  `json:"amount,omitempty" nullable:"true" doc:"What was added, with its unit, such as 1200 kg."`
	Level  *string  `json:"level,omitempty" nullable:"true" doc:"What is in it now, with its unit."`
	Lot    *string  `json:"lot,omitempty" nullable:"true" doc:"Of the product."`
	Person *string  `json:"person,omitempty" nullable:"true" doc:"Who filled it."`
}

type quickJSON struct {
	_               struct{}      `doc:"A product made on the spot."`
	Name            string        `json:"name" minLength:"1" maxLength:"200"`
	Kind            string        `json:"kind" enum:"seed,seed treatment,granular,liquid,anhydrous,inoculant,crop protection" doc:"Its kind."`
	Analysis        *analysisJSON `json:"analysis,omitempty" doc:"Of a granular, liquid or anhydrous product."`
	DensityKgPerL   *float64      `json:"density_kg_per_l,omitempty" nullable:"true" doc:"Not of a seed."`
	ThousandKernelG *float64      `json:"thousand_kernel_g,omitempty" nullable:"true" doc:"Of a seed."`
	Tank            *int          `json:"tank,omitempty" nullable:"true" minimum:"1" maximum:"99" doc:"Put it into this tank from now on; left out: only make it."`
	Rate            *string       `json:"rate,omitempty" nullable:"true" doc:"The target of that tank, with its unit."`
}

type analysisJSON struct {
	_       struct{} `doc:"What a fertiliser is guaranteed to contain."`
	NPct    float64  `json:"n_pct,omitempty" minimum:"0" maximum:"100" doc:"Nitrogen, per cent of the mass."`
	P2O5Pct float64  `json:"p2o5_pct,omitempty" minimum:"0" maximum:"100" doc:"Phosphate, per cent of the mass."`
	K2OPct  float64  `json:"k2o_pct,omitempty" minimum:"0" maximum:"100" doc:"Potash, per cent of the mass."`
	SPct    float64  `json:"s_pct,omitempty" minimum:"0" maximum:"100" doc:"Sulphur, per cent of the mass."`
}

type sayingJSON struct {
	_        struct{} `doc:"An operator line that was or would be said."`
	Recorded bool     `json:"recorded" doc:"It is in the recording. False: it would be, or there was nothing to say, as all of it is in force."`
	Words    string   `json:"words" doc:"What it says of operation, products and tanks."`
	Line     *string  `json:"line" doc:"The line; null: there is nothing to say. A boundary is left out of it here."`
	Lacks    []string `json:"lacks" doc:"What the record would still lack, such as person."`
	Cautions []string `json:"cautions" doc:"Limits and intervals to think of before. Entered by a person: the product label, the local rules and a licensed person decide."`
}

type quickDoneJSON struct {
	_       struct{}    `doc:"The product is in the catalogue."`
	ID      string      `json:"id" doc:"Of the product."`
	Said    *sayingJSON `json:"said" doc:"What was said of the tank; null: nothing was to be said."`
	Problem *string     `json:"problem" doc:"Why it is in the catalogue and yet not in the tank; null: there is none."`
}

type placeAheadJSON struct {
	_      struct{} `doc:"Where a tank runs out on the present pass."`
	LonDeg float64  `json:"lon_deg" doc:"WGS 84."`
	LatDeg float64  `json:"lat_deg" doc:"WGS 84."`
	InM    float64  `json:"in_m" minimum:"0" doc:"Metres of way from here."`
	InS    *float64 `json:"in_s" minimum:"0" doc:"Seconds at the present speed; null while that is not known."`
}
