package agronomy

import "drawbar/controller"

// SeedsPerM2 is how many seeds give a stand of plants, of which germination
// (a fraction above 0, at most 1) germinate and survival (likewise) of those come
// up and live:
//
//	seeds = plants / (germination x survival)
func SeedsPerM2(plantsPerM2, germination, survival float64) (float64, bool) {
	if !(plantsPerM2 >= 0) || !fraction(germination) || !fraction(survival) {
		return 0, false
	}
	share := float64(germination * survival)
	seeds := plantsPerM2 / share
	return seeds, finite(seeds) && share > 0
}

// PlantsPerM2 is the stand that seeds give: SeedsPerM2 the other way round.
func PlantsPerM2(seedsPerM2, germination, survival float64) (float64, bool) {
	if !(seedsPerM2 >= 0) || !fraction(germination) || !fraction(survival) {
		return 0, false
	}
	plants := float64(float64(seedsPerM2*germination) * survival)
	return plants, finite(plants)
}

// MassRate is seeds per area as kg/m2, by the weight of a thousand kernels in
// grams.
func MassRate(seedsPerM2, thousandKernelG float64) (controller.Quantity, bool) {
	if !(seedsPerM2 >= 0) {
		return controller.Quantity{}, false
	}
	return carry(controller.Quantity{SI: seedsPerM2, Dim: controller.DimCountPerArea}, controller.DimMass, thousandKernelG)
}

// CountRate is a rate of seed, a mass or a count per area, as seeds/m2. It is not
// known of a volume.
func CountRate(rate controller.Quantity, thousandKernelG float64) (controller.Quantity, bool) {
	if !rate.Dim.PerArea() || !(rate.SI >= 0) {
		return controller.Quantity{}, false
	}
	return carry(rate, controller.DimCount, thousandKernelG)
}

func carry(q controller.Quantity, to controller.Dim, thousandKernelG float64) (controller.Quantity, bool) {
	out, ok := q.As(to, thousandKernelG)
	if !ok || !finite(out.SI) {
		return controller.Quantity{}, false
	}
	return out, true
}

// SeedSpacingM is the distance between two seeds of a row, in metres, where rows
// are rowSpacingM apart.
func SeedSpacingM(seedsPerM2, rowSpacingM float64) (float64, bool) {
	if !positive(seedsPerM2) || !positive(rowSpacingM) {
		return 0, false
	}
	m := 1 / float64(seedsPerM2*rowSpacingM)
	return m, positive(m)
}

// Treatment is the amount of a seed treatment, kg/m2 or l/m2 as its dose is in kg
// or litres a kg of seed, that rides on a rate of seed.
func Treatment(seedKgPerM2, dosePerKg float64) (float64, bool) {
	v := float64(seedKgPerM2 * dosePerKg)
	return v, seedKgPerM2 >= 0 && dosePerKg >= 0 && finite(v)
}
