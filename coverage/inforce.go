package coverage

import "drawbar/controller"

// InForce is what is stated, and what the controller says of itself, for those who
// compare the two. It belongs to whoever asked for it, but for the implement.
type InForce struct {
	Implement *Implement // nil: none; shared, must not be changed
	// SectionsReported is how many sections the controller names; 0: none.
	SectionsReported int
	Tanks            []TankInForce // ascending by number
	Person           string        // who works; empty: nobody is named
	Crop             string        // empty: not stated
}

// TankInForce is a tank as it is stated and as its meter says.
type TankInForce struct {
	Tank                         // as stated; only the number where nothing is
	Metered  bool                // the controller has spoken of it
	Reported controller.Dim      // of the amounts that it reports; DimNone: not known
	Rate     controller.Quantity // reported, per area; DimNone: none
	Flow     controller.Quantity // reported, alone or beside a rate, per time; DimNone: none
	Aim      controller.Quantity // the target that the controller reports, per area; DimNone: none
}

// inForce copies what is stated and what the meter said last.
func (e *Engine) inForce() InForce {
	f := InForce{Implement: e.force.implement, Person: e.force.person, Crop: e.force.crop, Tanks: make([]TankInForce, 0, len(e.meter.numbers))}
	var last *metered
	if e.meter.n > 0 {
		last = e.meter.at(e.meter.last())
		f.SectionsReported = last.sections.Len()
	}
	for i, number := range e.meter.numbers {
		t := TankInForce{Tank: *e.tank(number)}
		if last != nil && last.tanks[i].has != 0 {
			t.hear(&last.tanks[i])
		}
		f.Tanks = append(f.Tanks, t)
	}
	return f
}

func (t *TankInForce) hear(h *held) {
	t.Metered = true
	if h.has&controller.HasRate != 0 {
		t.Rate, t.Reported = h.rate, h.rate.Dim.Amount()
	}
	if t.Flow = h.flow; t.Reported == controller.DimNone {
		t.Reported = h.flow.Dim.Amount()
	}
	if h.has&controller.HasTarget != 0 {
		t.Aim = h.target
	}
}
