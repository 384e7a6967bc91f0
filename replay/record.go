package replay

import (
	"time"

	"drawbar/coverage"
)

// OperationRecord is all that a record says of one operation. Figures are those of
// the summary; times are receiver time.
type OperationRecord struct {
	OperationFigures
	Number         int // in the session, from 1
	Start, End     time.Time
	Crop           string // empty: not stated
	GrowthStage    int    // BBCH; with HasGrowthStage
	HasGrowthStage bool
	Implement      coverage.Implement // that worked last; zero without one
	WorkingS       float64            // of this operation, moving with a section on
	DistanceM      float64            // worked, of this operation
	People         []PersonFigures    // in the order in which they first worked; they sum to the whole
	Refills        []RefillFigures
	Weather        []WeatherFigures
	Notes          []NoteFigures
	Weighed        []WeighedFigures
	Bounds         [4]float64 // west, south, east, north in degrees of the ground; with HasBounds
	HasBounds      bool
}

// PersonFigures are one person's share of an operation. The one without a name is
// what was worked while nobody was named.
type PersonFigures struct {
	Name      string
	GrossM2   float64
	WorkingS  float64
	DistanceM float64
	Products  []ProductShare // those that the person laid
}

// ProductShare is what one person laid of a product.
type ProductShare struct {
	Product int // index in the operation's Products
	AreaM2  float64
	Applied *float64 // in the product's unit; nil: not known
}

// RefillFigures is a tank that was filled or looked into. Amounts are in Unit: kg, l
// or seeds.
type RefillFigures struct {
	Time    time.Time
	Tank    int
	Product string // in the tank then
	Unit    string
	Amount  *float64 // added
	Level   *float64 // in it then
	Lot     string
	Person  string
}

// WeatherFigures is the weather as it was stated; nil: not stated.
type WeatherFigures struct {
	Time         time.Time
	WindMPS      *float64
	WindFromDeg  *float64
	TemperatureC *float64 // air, degrees Celsius
	HumidityPct  *float64 // relative, percent
}

// NoteFigures is a note.
type NoteFigures struct {
	Time time.Time
	Text string
}

// WeighedFigures is what went out of a tank between two moments, as weighed and by
// the record. Amounts are in Unit: kg, l or seeds.
type WeighedFigures struct {
	Tank     int
	From, To time.Time
	Unit     string
	Weighed  *float64
	Metered  *float64 // by the rate basis, before any factor; nil: not known
	Applied  *float64 // as recorded, with the factor in force; nil: not known
	Ticket   string
}

// SettledMark is what was said of a mark of any session.
type SettledMark struct {
	Time time.Time
	coverage.MarkSettled
}

// Records are the records of the operations, in order.
func (s *Session) Records() []OperationRecord {
	var out []OperationRecord
	from, to := s.span()
	for i, o := range s.engine.Operations() {
		r := OperationRecord{OperationFigures: figures(o, from, to), Number: i + 1}
		out = append(out, r)
	}
	return out
}
