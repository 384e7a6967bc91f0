package records

import (
	"drawbar/internal/agronomy"
)

// share is what one person did of one operation, in whole steps. The shares of an
// operation add up to it; what no record splits (covered ground, the field's time)
// is split as the gross area is, or the working time.
type share struct {
	person    string // "": nobody was named
	who       int32  // number of that name
	gross     int64  // 1/1000 m2
	covered   int64
	workingMS int64
	fieldMS   int64
	distance  int64 // mm
	uses      []use
	// What the width would have done in the field's time at the speed of the work, 1/1000 m2.
	could    int64
	hasCould bool
	split    bool // the operation had several people: covered ground and the field's time are estimates
}

// use is what a share has of one product.
type use struct {
	sum     int   // index into the operation's Sums
	product int32 // number of its name
	unit    uint8 // number of its unit
	gross   int64 // 1/1000 m2
	covered int64 // as much of it as of the share's ground
	rated   int64 // of gross: its rate was known
	amount  int64 // millionths, where has
	has     bool

	cost     int64 // millionths of currency, where priced
	currency string
	priced   bool
}

// shares splits an operation.
func shares(o *Operation) []share {
	people := o.People
	names, gross, working, distance := []string{""}, []int64{1}, []int64{1}, []int64{1}
	if len(people) > 0 {
		names, gross, working, distance = nil, nil, nil, nil
		for _, p := range people {
			names, gross = append(names, p.Name), append(gross, steps(p.GrossM2, perM2))
			working, distance = append(working, steps(p.WorkingS, perS)), append(distance, steps(p.DistanceM, perM))
		}
	}
	out := make([]share, len(names))
	grosses := split(steps(o.Area.GrossM2, perM2), gross)
	covereds := split(steps(o.Area.CoveredM2, perM2), gross)
	workings := split(steps(o.WorkingS, perS), working)
	fields := split(steps(o.FieldS, perS), working)
	distances := split(steps(o.DistanceM, perM), distance)
	could, hasCould := capable(o)
	coulds := split(could, working)
	for i, name := range names {
		out[i] = share{
			person: name, gross: grosses[i], covered: covereds[i], workingMS: workings[i], fieldMS: fields[i], distance: distances[i],
			could: coulds[i], hasCould: hasCould, split: len(names) > 1,
		}
	}
	laid := laidBy(o)
	for s := range o.Sums {
		splitUse(o, s, laid[s], out)
	}
	return out
}

// byPerson is what each person laid of one product, as weights.
type byPerson struct {
	area, amount []int64
	known        []bool // the amount is
}

// laidBy adds up by product what the record says by person and tank.
func laidBy(o *Operation) []byPerson {
	out := make([]byPerson, len(o.Sums))
	n := max(len(o.People), 1)
	for s := range out {
		out[s] = byPerson{make([]int64, n), make([]int64, n), make([]bool, n)}
		if len(o.People) == 0 {
			out[s].area[0], out[s].amount[0], out[s].known[0] = 1, 1, true
		}
	}
	for i, person := range o.People {
		for _, share := range person.Products {
			if share.Product < 0 || share.Product >= len(o.Products) {
				continue
			}
			p := o.Products[share.Product]
			for s := range o.Sums {
				if o.Sums[s].Name != p.Name || o.Sums[s].Unit != p.Unit {
					continue
				}
				out[s].area[i] += steps(share.AreaM2, perM2)
				if share.Applied != nil {
					out[s].amount[i] += steps(*share.Applied, perAmount)
					out[s].known[i] = true
				}
			}
		}
	}
	return out
}

// splitUse gives each share its part of a product.
func splitUse(o *Operation, s int, by byPerson, to []share) {
	p := o.Sums[s]
	gross := split(steps(p.AreaM2, perM2), by.area)
	rated := split(min(steps(p.RatedM2, perM2), steps(p.AreaM2, perM2)), by.area)
	covered := split(coveredOf(o, p), by.area)
	var amounts []int64
	if p.Applied != nil {
		amounts = split(steps(*p.Applied, perAmount), by.amount)
	}
	for i := range to {
		if by.area[i] == 0 && by.amount[i] == 0 && gross[i] == 0 && (amounts == nil || amounts[i] == 0) && len(to) > 1 {
			continue
		}
		u := use{sum: s, gross: gross[i], covered: covered[i], rated: rated[i]}
		if amounts != nil && (by.known[i] || amounts[i] != 0 || len(to) == 1) {
			u.amount, u.has = amounts[i], true
		}
		to[i].uses = append(to[i].uses, u)
	}
}

// coveredOf is how much ground got a product at least once: all of the operation's
// where it was laid on all, else the same part of it.
func coveredOf(o *Operation, p Sum) int64 {
	covered, gross, laid := steps(o.Area.CoveredM2, perM2), steps(o.Area.GrossM2, perM2), steps(p.AreaM2, perM2)
	if laid >= gross {
		return covered
	}
	return split(covered, []int64{laid, gross - laid})[0]
}

// capable is what the width would have done in the field's time at the speed of the
// work, 1/1000 m2.
func capable(o *Operation) (could int64, ok bool) {
	if len(o.Parts) > 0 {
		for i := range o.Parts {
			c, known := capable(&o.Parts[i])
			if !known {
				return 0, false
			}
			could += c
		}
		return could, true
	}
	if !(o.WorkingS > 0) {
		return 0, false
	}
	capacity, ok := agronomy.Capacity(o.DistanceM/o.WorkingS, o.Implement.WidthM(), 1)
	if !ok || !(o.FieldS > 0) {
		return 0, false
	}
	return steps(float64(capacity*o.FieldS), perM2), true
}

// Capacity is the field capacity of an operation in m2/s, its covered ground over the
// field's time, and its field efficiency; nil where they are not known.
func (o *Operation) Capacity() (capacityM2PerS, efficiency *float64) {
	if !(o.FieldS > 0) {
		return nil, nil
	}
	capacity := o.Area.CoveredM2 / o.FieldS
	if could, ok := capable(o); ok && could > 0 {
		share := o.Area.CoveredM2 / (float64(could) / perM2)
		efficiency = &share
	}
	return &capacity, efficiency
}
