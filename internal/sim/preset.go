package sim

import (
	"math"

	"drawbar/coverage"
)

// known is a pointer to a figure that is known.
func known(v float64) *float64 { return &v }

// ParallelPasses is n parallel passes of length L metres by an implement W metres
// wide, S metres apart, sections off in the turns, perfect GNSS. The antenna
// sits over the bar, so nothing but the passes themselves decides the areas.
func ParallelPasses(n int, lengthM, widthM, spacingM float64) Scenario {
	sc := Default()
	sc.Implement = overBar(widthM, 4)
	all := widthM + float64(n-1)*spacingM
	sc.Field.Outline = rectangle(lengthM, all)
	sc.Drive.Passes, sc.Drive.SpacingM = n, spacingM
	joins := float64(n - 1)
	covered := lengthM * (widthM + joins*min(spacingM, widthM))
	sc.Closed = &Closed{
		GrossM2:   float64(n) * widthM * lengthM,
		CoveredM2: &covered,
		OverlapM2: known(joins * max(widthM-spacingM, 0) * lengthM),
		OutsideM2: known(0),
		Formula:   "parallel passes: gross n W L, covered L (W + (n-1) min(S, W)), overlap (n-1) max(W-S, 0) L",
	}
	if spacingM <= widthM {
		sc.Closed.SkipM2 = known(0)
	}
	return sc
}

// overBar is a mounted implement whose bar lies right under the antenna.
func overBar(widthM float64, sections int) coverage.Implement {
	im := coverage.Implement{Name: "bar under the antenna", Operation: "seeding", Mount: coverage.MountRigid}
	for range sections {
		im.SectionsM = append(im.SectionsM, widthM/float64(sections))
	}
	return im
}

// Circle is one full turn to the left of radius R metres by a bar W metres wide
// under the antenna, sections on for exactly one turn. Where the bar reaches
// beyond the centre (R < W/2), its inner part sweeps backwards over ground that
// the outer part covers: gross is then more than Pappus's 2 pi R W.
func Circle(radiusM, widthM float64) Scenario {
	sc := Default()
	sc.Implement = overBar(widthM, 1)
	sc.Field = Field{Name: "Long Meadow", LatDeg: 53.3, LonDeg: 0}
	turn := 2 * math.Pi * radiusM
	b := builder{here: pose{theta: 0}, started: true}
	b.add(20, 0, sc.Drive.WorkMPS, 0)
	b.add(turn, 1/radiusM, sc.Drive.WorkMPS, 0)
	b.add(20, 0, sc.Drive.WorkMPS, 0)
	sc.fixed = &Plan{
		Segments: b.segs, LengthM: b.lengthM, passEnd: []float64{b.lengthM},
		Windows: []Window{{FromM: 20, ToM: 20 + turn}},
	}
	w := widthM / 2
	inner, fold := max(radiusM-w, 0), max(w-radiusM, 0)
	covered := math.Pi * ((radiusM+w)*(radiusM+w) - inner*inner)
	over := math.Pi * fold * fold
	sc.Closed = &Closed{
		GrossM2: covered + over, CoveredM2: &covered, OverlapM2: &over,
		Formula: "full turn: covered pi ((R+w)^2 - max(R-w, 0)^2), swept again behind the centre pi max(w-R, 0)^2, w = W/2",
	}
	return sc
}

// PointedRows is passes that meet both ends of the field at an angle of theta
// radians, by an implement of n equal sections, each held on until its own last
// corner is out. Passes lie side by side, so all overrun is outside the field.
func PointedRows(thetaRad, widthM float64, sections int) Scenario {
	const passes, lengthM = 4, 150.0
	sc := Default()
	sc.Implement = overBar(widthM, sections)
	h := passes * widthM
	lean := h / math.Tan(thetaRad)
	sc.Field = Field{
		Name: "Far Reach", LatDeg: 53.3, LonDeg: 0,
		Outline: []Point{{0, 0}, {lengthM, 0}, {lengthM + lean, h}, {lean, h}},
	}
	sc.Drive.Passes = passes
	// A triangle of W/n by W/(n tan theta) at each end of each section of each pass.
	outside := passes * 2 * widthM * widthM / (2 * float64(sections) * math.Abs(math.Tan(thetaRad)))
	field := lengthM * h
	covered := field + outside
	sc.Closed = &Closed{
		GrossM2: covered, CoveredM2: &covered, OverlapM2: known(0), SkipM2: known(0), OutsideM2: &outside,
		Formula: "pointed rows: W^2 / (2 n tan theta) beyond the edge at each end of each pass",
	}
	return sc
}

// Rectangle is a plain field of w by h metres, perfect GNSS, no faults.
func Rectangle(seed uint64, w, h float64) Scenario {
	sc := Default()
	sc.Seed = seed
	sc.Field.Outline = rectangle(w, h)
	return sc
}
