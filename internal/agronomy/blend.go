package agronomy

// Part is one of the products of a blend. Shares are relative: 100, 100 and 50
// are the same blend as 40, 40 and 20.
type Part struct {
	Analysis      Analysis
	Share         float64 // of the mass or of the volume, above 0, in any unit that all parts share
	DensityKgPerL float64 // 0 = not known
	HasAnalysis   bool
}

// BlendByMass is the analysis of a blend whose shares are masses:
//
//	grade = sum(share x grade of the part) / sum(share)
//
// It is not known where that of any part is not.
func BlendByMass(parts []Part) (Analysis, bool) {
	var mass float64
	var sum Analysis
	for _, p := range parts {
		if !positive(p.Share) || !p.HasAnalysis || !p.Analysis.Valid() {
			return Analysis{}, false
		}
		mass += p.Share
		sum.NPct += float64(p.Share * p.Analysis.NPct)
		sum.P2O5Pct += float64(p.Share * p.Analysis.P2O5Pct)
		sum.K2OPct += float64(p.Share * p.Analysis.K2OPct)
		sum.SPct += float64(p.Share * p.Analysis.SPct)
	}
	if !positive(mass) {
		return Analysis{}, false
	}
	// A share of the rounding must not lift 100 % over 100.
	of := func(v float64) float64 { return min(v/mass, 100) }
	a := Analysis{of(sum.NPct), of(sum.P2O5Pct), of(sum.K2OPct), of(sum.SPct)}
	return a, a.Valid()
}

// BlendByVolume is the analysis of a blend whose shares are volumes: by mass, each
// share times the density of its part. It is not known without one of these.
func BlendByVolume(parts []Part) (Analysis, bool) {
	byMass := make([]Part, len(parts))
	for i, p := range parts {
		if !positive(p.DensityKgPerL) {
			return Analysis{}, false
		}
		byMass[i] = p
		byMass[i].Share = float64(p.Share * p.DensityKgPerL)
	}
	return BlendByMass(byMass)
}

// BlendDensity is the density of a blend in kg/l as if volumes added up, which
// they nearly do; a measured density is better. byVolume says what the shares are.
func BlendDensity(parts []Part, byVolume bool) (float64, bool) {
	var kg, l float64
	for _, p := range parts {
		if !positive(p.Share) || !positive(p.DensityKgPerL) {
			return 0, false
		}
		if byVolume {
			kg += float64(p.Share * p.DensityKgPerL)
			l += p.Share
		} else {
			kg += p.Share
			l += p.Share / p.DensityKgPerL
		}
	}
	d := kg / l
	return d, positive(l) && positive(d)
}
