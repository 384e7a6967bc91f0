package server

// The JSON shapes of what arrives.

type arrivalsJSON struct {
	_       struct{}      `doc:"What arrives on the ports."`
	Sources []arrivedJSON `json:"sources"`
}

type arrivedJSON struct {
	_       struct{}   `doc:"What arrived on a port in the last minute."`
	Name    string     `json:"name" doc:"As configured."`
	Stream  string     `json:"stream" enum:"gnss,controller" doc:"What it carries."`
	Address string     `json:"address" doc:"Path of a serial port, tcp://host:port or udp://host:port."`
	Up      bool       `json:"up" doc:"It is open."`
	RateHz  *float64   `json:"rate_hz" minimum:"0" doc:"Lines a second."`
	AgeS    *float64   `json:"age_s" minimum:"0" doc:"Seconds since the latest line; null: none came."`
	Words   []string   `json:"words" doc:"What comes, for people."`
	Trouble []string   `json:"trouble" doc:"What is wrong and what to do; empty: nothing."`
	Lines   []lineJSON `json:"lines" doc:"The latest, newest last."`
}

type lineJSON struct {
	_       struct{} `doc:"One line as it arrived."`
	Time    *string  `json:"time" format:"date-time" doc:"Of arrival, session clock."`
	Text    string   `json:"text" doc:"Bytes that are no text as \\xHH."`
	Decoded string   `json:"decoded" doc:"What it says, in words; empty: nothing that is used."`
	OK      bool     `json:"ok" doc:"It could be read."`
	Reason  *string  `json:"reason" doc:"Why not."`
}

type tryJSON struct {
	_    struct{}    `doc:"A line profile to try."`
	Line profileJSON `json:"line"`
}

type profileJSON struct {
	_         struct{}     `doc:"As controller.line of the configuration."`
	Kind      string       `json:"kind,omitempty" enum:"keyvalue,delimited,pattern"`
	Separator string       `json:"separator,omitempty" doc:"One character, or space for runs of blanks."`
	Header    bool         `json:"header,omitempty" doc:"The first line names the columns."`
	Checksum  string       `json:"checksum,omitempty" enum:"none,xor8,sum8,crc16-ccitt"`
	Pattern   string       `json:"pattern,omitempty" doc:"Regular expression (RE2) with named groups."`
	Columns   []columnJSON `json:"columns,omitempty"`
	Units     unitsJSON    `json:"units,omitzero"`
}

type columnJSON struct {
	_        struct{} `doc:"What a column or group holds: raw times scale plus offset, in unit."`
	Column   nameJSON `json:"column" doc:"Number from 1, name in the header, or name of a group."`
	Field    string   `json:"field" enum:"work,sections,speed,rate,target,flow,total,level"`
	Tank     int      `json:"tank,omitempty" minimum:"1" maximum:"99"`
	TankFrom nameJSON `json:"tank_from,omitempty" doc:"The column or group that holds the tank's number."`
	Unit     string   `json:"unit,omitempty" doc:"Such as kg/ha."`
	Scale    float64  `json:"scale,omitempty"`
	Offset   float64  `json:"offset,omitempty"`
	Format   string   `json:"format,omitempty" enum:"bits,hex,decimal" doc:"Of sections."`
	First    string   `json:"first,omitempty" enum:"left,right" doc:"Of sections."`
}

type unitsJSON struct {
	_     struct{} `doc:"Of values that name none."`
	Rate  string   `json:"rate,omitempty"`
	Flow  string   `json:"flow,omitempty"`
	Total string   `json:"total,omitempty"`
	Level string   `json:"level,omitempty"`
	Speed string   `json:"speed,omitempty"`
}

type trialJSON struct {
	_        struct{}    `doc:"What a line profile makes of the controller's lines of the last minute."`
	Lines    []lineJSON  `json:"lines" doc:"The latest, newest last."`
	Reports  int         `json:"reports" minimum:"0" doc:"Lines that were read."`
	Rejected int         `json:"rejected" minimum:"0" doc:"Lines that could not be read."`
	Faults   []faultJSON `json:"faults" doc:"Of the profile; nothing is read where there are any."`
	YAML     string      `json:"yaml" doc:"To paste into the configuration; empty where the profile has faults."`
}
