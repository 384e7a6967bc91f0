package controller

import "regexp"

// MaxTank is the highest tank number that a line can report on; the lowest is 1.
const MaxTank = 99

// MaxLine is the longest line that is read, in bytes without its line end.
const MaxLine = 8192

// ProfileSpec is a line profile as a person writes it. The zero value is the
// keyvalue profile with the default units.
type ProfileSpec struct {
	Kind      string       `yaml:"kind"`      // keyvalue (default), delimited or pattern
	Separator string       `yaml:"separator"` // delimited: one character, or "space" for runs of blanks; default ","
	Header    bool         `yaml:"header"`    // delimited: the first line names the columns
	Checksum  string       `yaml:"checksum"`  // none (default), xor8, sum8 or crc16-ccitt
	Pattern   string       `yaml:"pattern"`   // pattern: RE2 expression with named groups
	Columns   []ColumnSpec `yaml:"columns"`   // delimited and pattern
	Units     UnitSpec     `yaml:"units"`     // of values that name none
}

// ColumnSpec says what one column or group holds: raw*Scale + Offset in Unit.
type ColumnSpec struct {
	Column   string   `yaml:"column"`    // number from 1, header name, or name of a group
	Field    string   `yaml:"field"`     // work, sections, speed, rate, target, flow, total or level
	Tank     int      `yaml:"tank"`      // 1 to MaxTank; 0 = not stated
	TankFrom string   `yaml:"tank_from"` // column or group that holds the tank's number
	Unit     string   `yaml:"unit"`      // empty = the profile's
	Scale    *float64 `yaml:"scale"`     // nil = 1
	Offset   float64  `yaml:"offset"`    // in Unit
	Format   string   `yaml:"format"`    // sections: bits (default), hex or decimal
	First    string   `yaml:"first"`     // sections: left (default) or right
}

// UnitSpec is the profile's units: of values that name none in the line and
// none in their column. Each may list several units separated by commas, such
// as "kg/ha, l/ha": the first that fits what the tank meters holds. Empty means
// the unit of the tank's target and what goes with it (see Defaults).
type UnitSpec struct {
	Rate  string `yaml:"rate"` // rate and target
	Flow  string `yaml:"flow"`
	Total string `yaml:"total"`
	Level string `yaml:"level"`
	Speed string `yaml:"speed"` // default km/h
}

// Defaults is what the rest of the configuration says that a line does not.
type Defaults struct {
	Tanks    []TankDefault
	Sections int // of the implement, 0 = not known
}

// TankDefault is a configured tank.
//
// Unit is the unit in which its target (or, failing that, its capacity) is
// written. It decides what the tank meters: mass, volume or count. Mass and count
// go over into each other when ThousandKernelG is stated; reports in any other
// kind are handed on as they are, for the ground counts even where the amount
// cannot. A bare rate is in Unit; bare flows and amounts are in kg, l or seeds (per
// minute) to match.
//
// For a tank that is not configured, or with the zero Unit, a bare rate is in
// kg/ha, a bare flow in l/min and a bare amount in kg, and any kind is taken.
type TankDefault struct {
	Tank            int
	Unit            Unit
	ThousandKernelG float64 // g per 1000 seeds, 0 = not stated
}

// Profile is a line profile that has been checked. It never changes and may be
// shared by decoders.
type Profile struct {
	defaults  Defaults
	units     [fieldEnd][]Unit // the profile's units of each field
	columns   []column
	pattern   *regexp.Regexp
	kind      kind
	sum       checksum
	separator byte
	runs      bool // runs of blanks separate
	header    bool
	named     bool // at least one column goes by its header name
}

type kind uint8

const (
	kindKeyValue kind = iota
	kindDelimited
	kindPattern
)

// column is a compiled ColumnSpec.
type column struct {
	name          string // for messages
	place         place
	tankPlace     place
	unit          Unit // zero: the profile's
	scale, offset float64
	tank          int // 0: from tankPlace, or the field has none
	field         field
	format        sectionFormat
	fromRight     bool
	scaled        bool
}

// place is where in the line a value stands: a column from 0 or a group by its
// number, or a header name whose column only the header line tells.
type place struct {
	index int // -1: by name
	name  string
}

// field is what a value is.
type field uint8

const (
	fieldWork field = iota
	fieldSections
	fieldSpeed
	fieldRate
	fieldTarget
	fieldFlow
	fieldTotal
	fieldLevel
	fieldEnd
)

func (f field) String() string {
	switch f {
	case fieldWork:
		return "work"
	case fieldSections:
		return "sections"
	case fieldSpeed:
		return "speed"
	case fieldRate:
		return "rate"
	case fieldTarget:
		return "target"
	case fieldFlow:
		return "flow"
	case fieldTotal:
		return "total"
	case fieldLevel:
		return "level"
	default:
		return "unknown"
	}
}

// fieldNamed finds a field by its name; fieldEnd when there is none.
func fieldNamed(name []byte) field {
	switch string(name) {
	case "work":
		return fieldWork
	case "sections":
		return fieldSections
	case "speed":
		return fieldSpeed
	}
	return tankFieldNamed(name)
}

// tankFieldNamed is fieldNamed for the fields of one tank.
func tankFieldNamed(name []byte) field {
	switch string(name) {
	case "rate":
		return fieldRate
	case "target":
		return fieldTarget
	case "flow":
		return fieldFlow
	case "total":
		return fieldTotal
	case "level":
		return fieldLevel
	}
	return fieldEnd
}

// perTank tells whether the field belongs to a tank.
func (f field) perTank() bool { return f >= fieldRate && f < fieldEnd }

// fits tells whether a unit of dimension d can state the field.
func (f field) fits(d Dim) bool {
	switch f {
	case fieldSpeed:
		return d == DimSpeed
	case fieldRate, fieldTarget:
		return d.PerArea()
	case fieldFlow:
		return d.PerTime()
	case fieldTotal, fieldLevel:
		return d >= DimMass && d <= DimCount
	default:
		return false
	}
}

// wantUnit says which units the field can be stated in.
func (f field) wantUnit() string {
	list := func(first Dim) string {
		return acceptedUnits(first) + "; " + acceptedUnits(first+1) + "; " + acceptedUnits(first+2)
	}
	switch f {
	case fieldSpeed:
		return "a speed in " + acceptedUnits(DimSpeed)
	case fieldRate, fieldTarget:
		return "an amount per area, such as kg/ha: " + list(DimMassPerArea)
	case fieldFlow:
		return "an amount per time, such as l/min: " + list(DimMassPerTime)
	case fieldTotal, fieldLevel:
		return "an amount, such as kg: " + list(DimMass)
	default:
		return "no unit"
	}
}

// most is the largest magnitude in SI that a machine can mean. It keeps sums
// over a season far from where numbers lose their last digits.
func (f field) most() float64 {
	switch f {
	case fieldSpeed:
		return 100 // m/s
	case fieldRate, fieldTarget:
		return 1e6 // per m2
	case fieldFlow:
		return 1e8 // per s
	default:
		return 1e13
	}
}

// signed tells whether the value may be below zero: a weighed tank that is
// empty may say -2 kg, and a total that was set back may too.
func (f field) signed() bool { return f == fieldTotal || f == fieldLevel }
