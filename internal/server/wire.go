package server

// The JSON shapes of the state. The tags say what each member is; the description
// of the API is made from them (document.go).

type stateJSON struct {
	_          struct{}       `doc:"Everything that is known at one moment."`
	Version    string         `json:"version" doc:"Of the program."`
	Started    *string        `json:"started" format:"date-time" doc:"When the session began, by the session's clock."`
	Time       *string        `json:"time" format:"date-time" doc:"When this was published, by the session's clock, which may be wrong."`
	Timezone   string         `json:"timezone" doc:"In which times are shown to people, by its IANA name."`
	Units      string         `json:"units" enum:"metric,us,canadian" doc:"In which numbers are shown to people."`
	Events     uint64         `json:"events" doc:"Lines taken in so far."`
	GNSS       gnssJSON       `json:"gnss"`
	Controller controllerJSON `json:"controller"`
	Machine    machineJSON    `json:"machine"`
	Tanks      []tankJSON     `json:"tanks" doc:"Ascending by number."`
	Operation  *operationJSON `json:"operation" doc:"The operation in hand, null before there is one."`
	Totals     totalsJSON     `json:"totals"`
	Recording  recordingJSON  `json:"recording"`
	Sources    []sourceJSON   `json:"sources" doc:"The input ports."`
	Alarms     []alarmJSON    `json:"alarms" doc:"Those that stand, worst first."`
	Tiles      tilesJSON      `json:"tiles"`
	Place      placeJSON      `json:"place"`
	Marks      uint64         `json:"marks_revision" doc:"Grows whenever marks of /api/marks have changed."`
	Replay     *replayJSON    `json:"replay" doc:"How a recorded session is being shown, null in a live run."`
}

type gnssJSON struct {
	_              struct{} `doc:"The receiver; its members are those of the latest fix."`
	Fixes          uint64   `json:"fixes" doc:"Fixes so far."`
	AgeS           *float64 `json:"age_s" minimum:"0" doc:"Seconds from the arrival of the latest fix to the publishing of this state."`
	Time           *string  `json:"time" format:"date-time" doc:"UTC by the receiver."`
	Quality        *string  `json:"quality" enum:"none,simulated,manual,estimated,unknown,autonomous,dgnss,precise,float,rtk" doc:"As the receiver states it, null before the first fix."`
	LatDeg         *float64 `json:"lat_deg" minimum:"-90" maximum:"90" doc:"WGS 84, north positive."`
	LonDeg         *float64 `json:"lon_deg" minimum:"-180" maximum:"180" doc:"WGS 84, east positive."`
	SpeedMPS       *float64 `json:"speed_mps" minimum:"0" doc:"Over ground."`
	Satellites     *int     `json:"satellites" minimum:"0" doc:"Used."`
	HDOP           *float64 `json:"hdop" minimum:"0" doc:"Horizontal dilution of precision."`
	CorrectionAgeS *float64 `json:"correction_age_s" minimum:"0" doc:"Of the differential correction."`
}

type controllerJSON struct {
	_        struct{} `doc:"The rate controller."`
	Lines    int      `json:"lines" minimum:"0" doc:"Taken in so far."`
	Reports  int      `json:"reports" minimum:"0" doc:"Lines that were read."`
	Rejected int      `json:"rejected" minimum:"0" doc:"Lines that could not be read."`
	AgeS     *float64 `json:"age_s" minimum:"0" doc:"Seconds from the latest report to the publishing of this state."`
}

type machineJSON struct {
	_                   struct{}     `doc:"Tractor and implement at the moment up to which ground is painted."`
	HeadingDeg          *float64     `json:"heading_deg" minimum:"0" exclusiveMaximum:"360" doc:"True heading of the tractor."`
	ImplementHeadingDeg *float64     `json:"implement_heading_deg" minimum:"0" exclusiveMaximum:"360" doc:"True heading of the implement."`
	Antenna             *[2]float64  `json:"antenna" nullable:"true" doc:"Longitude and latitude of the antenna."`
	Bar                 [][2]float64 `json:"bar" doc:"Longitude and latitude of the section ends, left to right; empty while not known."`
	Sections            []string     `json:"sections" enum:"unknown,off,on" doc:"On the ground, left to right; empty without an implement."`
	SectionsMetered     []string     `json:"sections_metered" enum:"unknown,off,on" doc:"The same as the controller said last, not delayed to the ground."`
	SectionsM           []float64    `json:"sections_m" doc:"Widths of the sections, left to right; empty without an implement."`
	OperationWidthM     *float64     `json:"operation_width_m" minimum:"0" doc:"Of all sections; null without an implement."`
}

type tankJSON struct {
	_           struct{} `doc:"A tank as its meter said last."`
	Tank        int      `json:"tank" minimum:"1" doc:"Number."`
	Product     string   `json:"product" doc:"What it holds, empty while not stated."`
	Unit        *string  `json:"unit" enum:"kg,l,seeds" doc:"Of amounts; null while not known."`
	RatePerM2   *float64 `json:"rate_per_m2" doc:"Unit per square metre."`
	TargetPerM2 *float64 `json:"target_per_m2" doc:"Unit per square metre."`
	Level       *float64 `json:"level" doc:"What is left, in unit."`
	Capacity    *float64 `json:"capacity" doc:"In unit."`
	AreaLeftM2  *float64 `json:"area_left_m2" minimum:"0" doc:"Area that the level still does at the present rate."`

	LevelFrom     *string         `json:"level_from" enum:"controller,refills" doc:"How the level is known: as the controller reports, or what was filled in less what was laid since."`
	DistanceLeftM *float64        `json:"distance_left_m" minimum:"0" doc:"Way of work that the level still does with the sections that are on."`
	TimeLeftS     *float64        `json:"time_left_s" minimum:"0" doc:"The same at the present speed."`
	RunsOut       *placeAheadJSON `json:"runs_out" doc:"Null: not on the present pass, or not known."`
	NextPassShort *bool           `json:"next_pass_short" doc:"What is left after this pass is not enough for the next one, if that is as long; null while not known."`
}

type operationJSON struct {
	_           struct{}      `doc:"One job in one field."`
	Number      int           `json:"number" minimum:"1" doc:"In the order in which they were worked."`
	Field       string        `json:"field" doc:"Name, empty while not stated."`
	Operation   string        `json:"operation" doc:"Such as seeding, empty while not stated."`
	HasBoundary bool          `json:"has_boundary" doc:"The field's boundary is stated."`
	Area        areaJSON      `json:"area"`
	OverlapBy   overlapByJSON `json:"overlap_by"`
	Skips       *skipsJSON    `json:"skips" doc:"Null while not worked out."`
	Products    []productJSON `json:"products" doc:"In the order of first use."`
}

type areaJSON struct {
	_           struct{} `doc:"Ground of the operation, square metres."`
	FieldM2     *float64 `json:"field_m2" minimum:"0" doc:"Inside the boundary; null while not worked out or without a boundary."`
	GrossM2     float64  `json:"gross_m2" minimum:"0" doc:"Sum of all swaths."`
	CoveredM2   float64  `json:"covered_m2" minimum:"0" doc:"Treated at least once."`
	OverlapM2   float64  `json:"overlap_m2" minimum:"0" doc:"Gross minus covered."`
	SkipM2      *float64 `json:"skip_m2" minimum:"0" doc:"Too narrow for a pass; null while not worked out."`
	RemainingM2 *float64 `json:"remaining_m2" minimum:"0" doc:"Still to do; null while not worked out or without a boundary."`
	OutsideM2   *float64 `json:"outside_m2" minimum:"0" doc:"Covered outside the boundary; null while not worked out or without a boundary."`
}

type overlapByJSON struct {
	_               struct{} `doc:"The overlap by cause, square metres."`
	HeadlandM2      float64  `json:"headland_m2" minimum:"0" doc:"On headlands and turns."`
	BetweenPassesM2 float64  `json:"between_passes_m2" minimum:"0" doc:"Of neighbouring passes."`
	SectionsM2      float64  `json:"sections_m2" minimum:"0" doc:"Of sections that were switched late."`
}

type skipsJSON struct {
	_       struct{}   `doc:"Ground between passes that was left out."`
	Open    int        `json:"open" minimum:"0" doc:"How many are open."`
	Largest []skipJSON `json:"largest" maxItems:"5" doc:"Of those that are not covered, the largest first."`
}

type skipJSON struct {
	_       struct{} `doc:"Ground that is too narrow for a pass."`
	LonDeg  float64  `json:"lon_deg" doc:"Of a place inside it."`
	LatDeg  float64  `json:"lat_deg" doc:"Of a place inside it."`
	AreaM2  float64  `json:"area_m2" minimum:"0"`
	WidthM  float64  `json:"width_m" minimum:"0" doc:"At its widest."`
	LengthM float64  `json:"length_m" minimum:"0" doc:"Between its ends."`
	State   string   `json:"state" enum:"provisional,open" doc:"provisional: the bar is still near it."`
}

type productJSON struct {
	_               struct{} `doc:"What the operation used of a product."`
	Tank            int      `json:"tank" minimum:"1" doc:"Number."`
	Name            string   `json:"name" doc:"Of the product."`
	Unit            string   `json:"unit" enum:",kg,l,seeds" doc:"Of the amount, empty while not known."`
	Applied         *float64 `json:"applied" doc:"In unit."`
	AreaM2          float64  `json:"area_m2" minimum:"0" doc:"Gross."`
	MeanRatePerM2   *float64 `json:"mean_rate_per_m2" doc:"Unit per square metre, over the ground."`
	MeanTargetPerM2 *float64 `json:"mean_target_per_m2" doc:"Unit per square metre, over the ground."`
}

type totalsJSON struct {
	_                struct{} `doc:"Of the session."`
	WorkingS         float64  `json:"working_s" minimum:"0" doc:"Time with a section on."`
	DistanceM        float64  `json:"distance_m" minimum:"0" doc:"Driven."`
	WorkingDistanceM float64  `json:"working_distance_m" minimum:"0" doc:"Driven with a section on."`
	Gaps             int      `json:"gaps" minimum:"0" doc:"Holes between fixes."`
	GapS             float64  `json:"gap_s" minimum:"0" doc:"Of all of them."`
	Marks            int      `json:"marks" minimum:"0" doc:"Left by the operator."`
	ClockSteps       int      `json:"clock_steps" minimum:"0" doc:"Times a clock was set."`
}

type recordingJSON struct {
	_         struct{} `doc:"The recording of the session."`
	Session   *string  `json:"session" doc:"Name; null where nothing is recorded."`
	Recording bool     `json:"recording" doc:"Every line that comes in is being written."`
	Bytes     int64    `json:"bytes" minimum:"0" doc:"Written to the session."`
	FreeBytes *uint64  `json:"free_bytes" doc:"On the disk; null while not known."`
	Error     *string  `json:"error" doc:"Why nothing is written."`
}

type sourceJSON struct {
	_          struct{} `doc:"An input port."`
	Name       string   `json:"name" doc:"As configured."`
	Stream     string   `json:"stream" enum:"gnss,controller" doc:"What it carries."`
	Address    string   `json:"address" doc:"Path of a serial port, tcp://host:port or udp://host:port."`
	Up         bool     `json:"up" doc:"It is open."`
	Since      *string  `json:"since" format:"date-time" doc:"Up or lost since."`
	Reconnects uint64   `json:"reconnects" doc:"Times it was opened again."`
	Bytes      uint64   `json:"bytes" doc:"Read."`
	Lines      uint64   `json:"lines" doc:"Read."`
	Baud       *int     `json:"baud" minimum:"1" doc:"Null where not known, or no serial port."`
	LastError  *string  `json:"last_error" doc:"Of the latest failure to open or read."`
}

type alarmJSON struct {
	_        struct{} `doc:"An alarm that stands."`
	Alarm    string   `json:"alarm" enum:"source_lost,no_fix,fix_quality,controller_silent,rate_off_target,section_off,tank_low,tank_empty,disk_low,recording_stopped,clock_stepped,tank_short" doc:"Kind, as in metrics."`
	Subject  *string  `json:"subject" doc:"The source, tank or section; null where there is only one."`
	Severity string   `json:"severity" enum:"note,warning,critical" doc:"note: know it; warning: act soon; critical: act now."`
	Text     string   `json:"text" doc:"What is wrong and what to do, one sentence."`
	Since    *string  `json:"since" format:"date-time" doc:"When it was raised, by the session's clock."`
	Seen     bool     `json:"seen" doc:"The operator has acknowledged it."`
}

type tilesJSON struct {
	_        struct{} `doc:"What the map tiles show."`
	Revision uint64   `json:"revision" doc:"Grows whenever tiles may have changed."`
	Work     uint64   `json:"work" doc:"Number of the last piece of work that they carry."`
}

type placeJSON struct {
	_     struct{}   `doc:"Which field the machine is in."`
	Field *string    `json:"field" doc:"Null: none of those that are known."`
	Offer *offerJSON `json:"offer" doc:"Null: nothing to settle."`
}

type offerJSON struct {
	_      struct{} `doc:"A field that is not that of the work in hand, for the operator to accept."`
	Field  string   `json:"field" doc:"Name."`
	Inside bool     `json:"inside" doc:"The machine is in it; else it is coming to it."`
	InS    *float64 `json:"in_s" minimum:"0" doc:"Seconds to its border on the present course."`
}

type replayJSON struct {
	_       struct{} `doc:"A recorded session that is being shown."`
	Start   *string  `json:"start" format:"date-time" doc:"Session clock."`
	End     *string  `json:"end" format:"date-time" doc:"Session clock."`
	At      *string  `json:"at" format:"date-time" doc:"What is shown now."`
	Speed   float64  `json:"speed" doc:"Times as fast as it was recorded."`
	Playing bool     `json:"playing"`
}
