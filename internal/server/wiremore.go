package server

// The JSON shapes of everything but the state.

type sourcesJSON struct {
	_       struct{}     `doc:"The input ports."`
	Sources []sourceJSON `json:"sources" doc:"All of them."`
}

type alarmsJSON struct {
	_      struct{}    `doc:"The alarms."`
	Alarms []alarmJSON `json:"alarms" doc:"Those that stand, worst first."`
}

type sessionsJSON struct {
	_        struct{}      `doc:"What was recorded."`
	Sessions []sessionJSON `json:"sessions" doc:"The latest first."`
}

type sessionJSON struct {
	_     struct{} `doc:"One recorded session."`
	Name  string   `json:"name" doc:"Of the file."`
	Start *string  `json:"start" format:"date-time" doc:"Session clock."`
	End   *string  `json:"end" format:"date-time" doc:"Session clock; null while it lasts or where not known."`
	Bytes int64    `json:"bytes" minimum:"0" doc:"On disk."`
	State string   `json:"state" enum:"recording,closed,unclosed" doc:"unclosed: ended without being closed and not mended yet."`
}

type healthJSON struct {
	_      struct{} `doc:"Whether the core works."`
	Status string   `json:"status" enum:"ok,starting,stopped" doc:"ok, or why not."`
	AgeS   *float64 `json:"age_s" minimum:"0" doc:"Seconds since the core published its state last."`
	Error  *string  `json:"error" doc:"What is wrong."`
}

type recordedJSON struct {
	_        struct{} `doc:"The line is in the recording."`
	Recorded bool     `json:"recorded" doc:"Always true."`
	Mark     *int     `json:"mark" minimum:"1" doc:"Number of the mark that was left, null for none."`
}

// doneJSON acknowledges what leaves nothing to tell.
type doneJSON struct {
	_    struct{} `doc:"It was done."`
	Done bool     `json:"done" doc:"Always true."`
}

type failureJSON struct {
	_      struct{}    `doc:"A request that could not be done."`
	Error  string      `json:"error" doc:"What is wrong and what to do."`
	Faults []faultJSON `json:"faults" doc:"Of what was sent, member by member; else empty."`
}

type faultJSON struct {
	_      struct{} `doc:"One thing wrong in what was sent."`
	Member string   `json:"member" doc:"Path such as tanks[0].target; empty: the whole."`
	Got    string   `json:"got" doc:"What was sent."`
	Want   string   `json:"want" doc:"What was expected."`
	Line   int      `json:"line,omitempty" minimum:"1" doc:"Of a text that was sent."`
}

type alarmEventJSON struct {
	_      struct{}  `doc:"Data of the event alarm."`
	Seq    uint64    `json:"seq" minimum:"1" doc:"Number of the notice."`
	Time   *string   `json:"time" format:"date-time" doc:"Session clock."`
	Raised bool      `json:"raised" doc:"False: it is over."`
	Alarm  alarmJSON `json:"alarm"`
}

type markEventJSON struct {
	_      struct{} `doc:"Data of the event mark."`
	Seq    uint64   `json:"seq" minimum:"1" doc:"Number of the notice."`
	Time   *string  `json:"time" format:"date-time" doc:"Session clock."`
	Mark   markJSON `json:"mark"`
	Undone bool     `json:"undone" doc:"It was withdrawn."`
}

type markJSON struct {
	_      struct{} `doc:"A point of interest left by the operator."`
	Number *int     `json:"number" minimum:"1" doc:"Of the session; null: added by a correction."`
	Kind   string   `json:"kind" doc:"Such as stone."`
	Note   string   `json:"note" doc:"May be empty."`
	Time   *string  `json:"time" format:"date-time" doc:"UTC by the receiver."`
	LonDeg *float64 `json:"lon_deg" doc:"WGS 84."`
	LatDeg *float64 `json:"lat_deg" doc:"WGS 84."`
}

type missedJSON struct {
	_       struct{} `doc:"Data of the event missed."`
	Notices uint64   `json:"notices" minimum:"1" doc:"That came after the last one received and are kept no more."`
}

type workEventJSON struct {
	_      struct{}    `doc:"Data of the event work: ground worked since the last such event."`
	First  uint64      `json:"first" doc:"Number of the first piece."`
	Last   uint64      `json:"last" doc:"Number of the last piece."`
	Pieces []pieceJSON `json:"pieces" minItems:"1" doc:"In the order in which they were worked."`
}

type pieceJSON struct {
	_         struct{}        `doc:"Ground worked under neighbouring sections that were on."`
	Operation int             `json:"operation" minimum:"1" doc:"Its number."`
	Corners   [4][2]float64   `json:"corners" doc:"Longitude and latitude, around it."`
	Tanks     []pieceTankJSON `json:"tanks" doc:"What was put down."`
}

type pieceTankJSON struct {
	_       struct{} `doc:"What a tank put down."`
	Tank    int      `json:"tank" minimum:"1" doc:"Number."`
	Product string   `json:"product" doc:"Empty while not stated."`
	Rate    *float64 `json:"rate" doc:"Unit of the tank per square metre."`
	Target  *float64 `json:"target" doc:"Unit of the tank per square metre."`
}

type redrawJSON struct {
	_    struct{} `doc:"Data of the event redraw: pieces were missed; drop those in hand and fetch all tiles anew."`
	Work uint64   `json:"work" doc:"The pieces that follow come after this one."`
}

type fieldsJSON struct {
	_      struct{}    `doc:"The fields that the machine may come to."`
	Fields []fieldJSON `json:"fields" doc:"The nearest first."`
	File   *string     `json:"file" doc:"Where they are from; null: from nowhere."`
}

type fieldJSON struct {
	_         struct{} `doc:"A known field."`
	Name      string   `json:"name"`
	AreaM2    *float64 `json:"area_m2" minimum:"0" doc:"Inside its boundary."`
	DistanceM *float64 `json:"distance_m" minimum:"0" doc:"From the machine to its border, 0 inside; null while the place of the machine is not known."`
	Current   bool     `json:"current" doc:"The work in hand is in it."`
}

// fieldNameJSON names a field.
type fieldNameJSON struct {
	_     struct{} `doc:"A known field."`
	Field string   `json:"field" minLength:"1" maxLength:"200" doc:"Its name, as listed."`
}

type workOutlineJSON struct {
	_        struct{}     `doc:"The outline of the ground worked so far, to be stated as the field's boundary."`
	Boundary geometryJSON `json:"boundary" doc:"Null where there is none."`
	AreaM2   *float64     `json:"area_m2" minimum:"0" doc:"Inside it."`
	Reason   *string      `json:"reason" doc:"Why there is none."`
}

type driveJSON struct {
	_        struct{}     `doc:"A boundary that is driven."`
	Driving  bool         `json:"driving" doc:"The path of the machine is being followed."`
	Edge     string       `json:"edge" enum:"bar_left,bar_right,antenna" doc:"What draws it."`
	OffsetM  float64      `json:"offset_m" doc:"How far outside the edge it lies; to the right of the antenna, negative to its left."`
	LengthM  float64      `json:"length_m" minimum:"0" doc:"Driven so far."`
	GapM     *float64     `json:"gap_m" minimum:"0" doc:"From the end of the line to its start; null while nothing is driven."`
	Boundary geometryJSON `json:"boundary" doc:"The line so far, then the outline, to be stated as the field's boundary; null before there is either."`
	AreaM2   *float64     `json:"area_m2" minimum:"0" doc:"Inside the outline."`
	Reason   *string      `json:"reason" doc:"Why it cannot be closed yet."`
}

type driveActionJSON struct {
	_       struct{} `doc:"What to do with the boundary that is driven."`
	Action  string   `json:"action" enum:"start,stop,cancel" doc:"stop keeps the outline for the operator to state."`
	Edge    string   `json:"edge,omitempty" enum:"bar_left,bar_right,antenna" doc:"With start: what draws it."`
	OffsetM float64  `json:"offset_m,omitempty" minimum:"-50" maximum:"50" doc:"With start: how far outside the edge it lies; to the right of the antenna, negative to its left."`
}

type seenJSON struct {
	_       struct{} `doc:"An alarm that the operator has seen."`
	Alarm   string   `json:"alarm" doc:"Kind."`
	Subject *string  `json:"subject,omitempty" nullable:"true" doc:"The source, tank or section; null where there is only one."`
}

type steerJSON struct {
	_       struct{} `doc:"How the replay goes on; a member that is left out stays as it is."`
	At      *string  `json:"at,omitempty" format:"date-time" doc:"The moment to show, session clock."`
	Speed   *float64 `json:"speed,omitempty" minimum:"0.1" maximum:"1000" doc:"Times as fast as it was recorded."`
	Playing *bool    `json:"playing,omitempty"`
}
