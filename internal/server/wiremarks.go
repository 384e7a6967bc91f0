package server

type keptMarkJSON struct {
	_          struct{} `doc:"A mark of whichever session, as it is kept."`
	ID         string   `json:"id"`
	Revision   int64    `json:"revision" minimum:"1" doc:"Grows with each change."`
	Kind       string   `json:"kind" doc:"Such as stone."`
	Note       string   `json:"note"`
	Field      *string  `json:"field" doc:"Name of the field that it is in; null where none is known."`
	LonDeg     *float64 `json:"lon_deg" doc:"Null where it was left before there was a position."`
	LatDeg     *float64 `json:"lat_deg" doc:"Likewise."`
	Left       *string  `json:"left" format:"date-time" doc:"When it was left."`
	Session    *string  `json:"session" doc:"That it was left in; null for none."`
	Number     *int     `json:"number" minimum:"1" doc:"In that session."`
	State      string   `json:"state" enum:"open,done" doc:"done: it is settled, such as a stone that is out."`
	Settled    *string  `json:"settled" format:"date-time" doc:"When it was last said to be done or open again."`
	SettledBy  *string  `json:"settled_by" doc:"Name or role of who said so, or of the device."`
	DistanceM  *float64 `json:"distance_m" minimum:"0" doc:"From the machine, along the ellipsoid."`
	BearingDeg *float64 `json:"bearing_deg" minimum:"0" maximum:"360" doc:"In which it lies from the machine, true, clockwise from north."`
}

type marksJSON struct {
	_       struct{}       `doc:"Marks of all sessions, but for those that were withdrawn."`
	Marks   []keptMarkJSON `json:"marks" doc:"In the order in which they were left, or the nearest first."`
	Machine *machineAtJSON `json:"machine" doc:"From where distance and bearing are; null where there is no position."`
	Fields  []string       `json:"fields" doc:"Names of the fields that have marks of any state, in order."`
	Units   string         `json:"units" enum:"metric,us,canadian" doc:"Of what is shown to people."`
}

type machineAtJSON struct {
	_      struct{} `doc:"Where the machine is."`
	LonDeg float64  `json:"lon_deg" doc:"Of the antenna."`
	LatDeg float64  `json:"lat_deg" doc:"Of the antenna."`
	Time   *string  `json:"time" format:"date-time" doc:"Of the fix."`
	AgeS   *float64 `json:"age_s" doc:"Since the fix came in."`
}

type markChangeJSON struct {
	_        struct{} `doc:"A change of a mark. What is left out stays as it is."`
	Revision *int64   `json:"revision,omitempty" minimum:"1" doc:"That the mark must be at, and must be stated where kind or note change; left out: whichever."`
	State    *string  `json:"state,omitempty" enum:"open,done" doc:"Said in the session in hand too."`
	Kind     *string  `json:"kind,omitempty" maxLength:"1000" doc:"Such as stone. Not for helpers."`
	Note     *string  `json:"note,omitempty" maxLength:"10000" doc:"Not for helpers."`
}
