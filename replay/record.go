package replay

import (
	"slices"
	"time"

	"drawbar/controller"
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
	ops := s.engine.Operations()
	from, to := s.span()
	for i, o := range ops {
		r := OperationRecord{
			OperationFigures: figures(o, from, to), Number: i + 1,
			Crop: o.Crop, GrowthStage: o.GrowthStage, HasGrowthStage: o.HasGrowthStage,
			WorkingS: round(float64(o.WorkingNS)/1e9, placesS), DistanceM: round(o.WorkedM, placesM),
			People: people(o),
		}
		r.Start, r.End = lasts(o, from, to)
		if im := o.Implement(); im != nil {
			r.Implement = *im
			r.Implement.SectionsM = slices.Clone(im.SectionsM)
		}
		r.Bounds, r.HasBounds = o.Bounds()
		for k := range r.Bounds {
			r.Bounds[k] = round(r.Bounds[k], placesDeg)
		}
		out = append(out, r)
	}
	for _, e := range s.engine.Journal() {
		if i := during(ops, out, e.Operation, e.At); i >= 0 {
			out[i].enter(e)
		}
	}
	for _, w := range s.engine.Weighings() {
		f := weighed(w)
		in := w.Operations
		if len(in) == 0 {
			in = []*coverage.Operation{nil}
		}
		for _, o := range in {
			if i := during(ops, out, o, w.From); i >= 0 {
				out[i].Weighed = append(out[i].Weighed, f)
			}
		}
	}
	return out
}

// SettledMarks are what was said of marks of any session, in order.
func (s *Session) SettledMarks() []SettledMark {
	var out []SettledMark
	for _, e := range s.engine.Journal() {
		if e.Settled != nil {
			out = append(out, SettledMark{Time: e.At, MarkSettled: *e.Settled})
		}
	}
	return out
}

// lasts is when an operation began and ended. One in which nothing was worked lasts as
// long as it was open.
func lasts(o *coverage.Operation, from, to time.Time) (start, end time.Time) {
	if start = o.Start; start.IsZero() {
		start = from
	}
	if end = o.End; end.IsZero() {
		end = to
	}
	return start, end
}

// during is the index of the operation in which something was said: the one in hand
// then; where nothing was worked in that, the next one worked, or else the last. -1
// without any.
func during(ops []*coverage.Operation, records []OperationRecord, in *coverage.Operation, at time.Time) int {
	if i := slices.Index(ops, in); i >= 0 {
		return i
	}
	for i := range records {
		if !records[i].End.Before(at) {
			return i
		}
	}
	return len(records) - 1
}

// enter adds what was said during the operation.
func (r *OperationRecord) enter(e coverage.Entry) {
	if e.Refill != nil {
		r.Refills = append(r.Refills, refill(e))
	}
	if w := e.Weather; w != nil {
		is := func(v float64, has coverage.WeatherHas) *float64 { return known(v, w.Has&has != 0, placesRate) }
		r.Weather = append(r.Weather, WeatherFigures{
			Time: e.At, WindMPS: is(w.WindMPS, coverage.HasWind), WindFromDeg: is(w.WindFromDeg, coverage.HasWindFrom),
			TemperatureC: is(w.TemperatureC, coverage.HasTemperature), HumidityPct: is(w.HumidityPct, coverage.HasHumidity),
		})
	}
	if e.Note != nil {
		r.Notes = append(r.Notes, NoteFigures{Time: e.At, Text: *e.Note})
	}
}

func refill(e coverage.Entry) RefillFigures {
	r := e.Refill
	f := RefillFigures{Time: e.At, Tank: r.Tank, Product: e.Product.Name, Unit: e.Unit.AmountUnit(), Lot: r.Lot, Person: r.Person}
	in := func(q controller.Quantity) *float64 {
		as, ok := q.As(e.Unit, e.Product.ThousandKernelG)
		return known(as.SI, ok, placesAmount)
	}
	f.Amount, f.Level = in(r.Amount), in(r.Level)
	if f.Amount == nil && f.Level == nil { // in its own unit, where the tank's measures something else
		e.Unit = r.Unit.Dim.Amount()
		f.Unit, f.Amount, f.Level = e.Unit.AmountUnit(), in(r.Amount), in(r.Level)
	}
	return f
}

func people(o *coverage.Operation) []PersonFigures {
	var out []PersonFigures
	for _, p := range o.People() {
		f := PersonFigures{
			Name: p.Name, GrossM2: round(p.Gross.M2(), placesM2),
			WorkingS: round(float64(p.WorkingNS)/1e9, placesS), DistanceM: round(p.DistanceM, placesM),
		}
		for i, s := range p.Products {
			if s.Gross == 0 {
				continue
			}
			applied, ok := s.Applied(o.Products[i])
			f.Products = append(f.Products, ProductShare{Product: i, AreaM2: round(s.Gross.M2(), placesM2), Applied: known(applied, ok, placesAmount)})
		}
		out = append(out, f)
	}
	return out
}

func weighed(w coverage.Weighing) WeighedFigures {
	return WeighedFigures{
		Tank: w.Tank, From: w.From, To: w.To, Unit: w.Amount.Dim.AmountUnit(), Ticket: w.Ticket,
		Weighed: known(w.Amount.SI, true, placesAmount),
		Metered: known(w.Metered, w.Known, placesAmount), Applied: known(w.Applied, w.Known, placesAmount),
	}
}
