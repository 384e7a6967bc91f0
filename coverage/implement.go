package coverage

import "drawbar/controller"

// Mount is how the implement follows the tractor.
type Mount uint8

// The two ways of mounting.
const (
	MountRigid Mount = iota // on the linkage: same heading as the tractor
	MountTowed              // on a hitch: follows it as a trailed wheel does
)

// Implement is the drill, planter, sprayer or spreader, seen from above. All
// lengths are metres; "behind" is against the direction of travel.
//
//	        antenna  +                 AntennaRightM: right of the centre line
//	                 |  AntennaToHitchM (negative: the hitch is ahead)
//	          hitch  o
//	                 |  HitchToAxleM (towed: to the wheels that steer it)
//	           axle =+=
//	                 |
//	[==|==|==|==]----+  bar, HitchToBarM behind the hitch
//	      ^ BarRightM: centre of the bar right of the implement's centre line
type Implement struct {
	Name            string
	Operation       string
	SectionsM       []float64 // widths, left to right
	AntennaToHitchM float64
	AntennaRightM   float64
	HitchToAxleM    float64
	HitchToBarM     float64
	BarRightM       float64
	Mount           Mount
}

// WidthM is the width of the bar in metres.
func (im Implement) WidthM() float64 {
	w := 0.0
	for _, s := range im.SectionsM {
		w += s
	}
	return w
}

// ProductKind is the class of a product; it decides in which units its rate may
// be stated.
type ProductKind uint8

// The kinds of product.
const (
	KindUnknown ProductKind = iota
	KindSeed
	KindSeedTreatment // rides on a seed product
	KindGranular
	KindLiquid
	KindAnhydrous
	KindInoculant
)

// Product is what a tank holds.
type Product struct {
	Name            string
	Kind            ProductKind
	ThousandKernelG float64 // g per 1,000 seeds; 0 = not stated
}

// Tank is a numbered product container with its own meter.
type Tank struct {
	Product  Product
	Target   controller.Quantity // per area; DimNone = not stated
	Capacity controller.Quantity // mass, volume or count; DimNone = not stated
	Unit     controller.Unit     // in which the target, failing that the capacity, was stated; zero = neither
	LagS     float64             // from the meter to the ground, starts and stops alike
	Number   int                 // from 1

	// What only an Adjust states; a tank that is set up anew has none of it.
	Rule    RateRule
	Factor  float64 // of the amount and the rates laid; 0 = 1
	Untimed bool    // never set up and no lag stated: it does not time the sections
}

// Limits are the bounds of what is painted.
type Limits struct {
	SkipWidthM    float64 // 0 = from the bar and the sections
	SkipMinAreaM2 float64 // 0 = from the skip width
	MaxGapS       float64 // longest hole between fixes that a swath may bridge
	MaxSpeedMPS   float64 // more than this between two fixes is a jump
}

// DefaultLimits hold where nothing else is said.
func DefaultLimits() Limits {
	return Limits{MaxGapS: 2, MaxSpeedMPS: 15}
}

// ReplaceTanks returns the tanks with those of the same number replaced and the
// others added, in ascending order of number. tanks is not changed.
func ReplaceTanks(tanks, by []Tank) []Tank {
	out := append([]Tank(nil), tanks...)
	for _, t := range by {
		i := 0
		for i < len(out) && out[i].Number < t.Number {
			i++
		}
		if i < len(out) && out[i].Number == t.Number {
			out[i] = t
		} else {
			out = insert(out, i, t)
		}
	}
	return out
}
