package coverage

import "drawbar/coverage/ground"

// PersonUse is what one person worked of an operation.
type PersonUse struct {
	Name      string // empty: nobody was named
	Gross     ground.Area
	WorkingNS int64
	DistanceM float64        // worked
	Products  []ProductShare // as Operation.Products, which may be longer
}

// ProductShare is a part of a ProductUse.
type ProductShare struct {
	Gross   ground.Area
	applied int64 // in steps
	rated   ground.Area
}
