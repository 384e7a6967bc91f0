package agronomy

// Capacity is the area that a machine of a width gets over in a second, in m2/s,
// at a field efficiency (a fraction above 0, at most 1; 1 gives the theoretical
// capacity):
//
//	capacity = speed x width x efficiency
func Capacity(speedMPS, widthM, efficiency float64) (float64, bool) {
	if !positive(speedMPS) || !positive(widthM) || !fraction(efficiency) {
		return 0, false
	}
	c := float64(float64(speedMPS*widthM) * efficiency)
	return c, positive(c)
}

// Efficiency is the field efficiency of recorded work: the area that was done in
// a time over what the width would have done at that speed. It may exceed 1 where
// the speed is not that of the whole time. With the spacing of the passes in place
// of the width, overlap is not held against it.
func Efficiency(areaM2, seconds, speedMPS, widthM float64) (float64, bool) {
	theoretical, ok := Capacity(speedMPS, widthM, 1)
	if !ok || !positive(seconds) || !(areaM2 >= 0) {
		return 0, false
	}
	e := areaM2 / seconds / theoretical
	return e, finite(e)
}

// TimeS is how many seconds an area takes at a capacity in m2/s.
func TimeS(areaM2, capacityM2PerS float64) (float64, bool) {
	if !(areaM2 >= 0) || !positive(capacityM2PerS) {
		return 0, false
	}
	s := areaM2 / capacityM2PerS
	return s, finite(s)
}
