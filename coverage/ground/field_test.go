package ground

import (
	"fmt"
	"math"
	"testing"
)

// add is a set of all the quads.
func add(quads []Quad) *Set {
	s := New()
	for _, q := range quads {
		s.Add(q)
	}
	return s
}

// ppm is how far got is from want in millionths of whole.
func ppm(got, want, whole float64) float64 { return (got - want) / whole * 1e6 }

func countCorners(polygons []Polygon) (n int) {
	for _, p := range polygons {
		for _, r := range p {
			n += len(r)
		}
	}
	return n
}

// TestFieldsAgainstGEOS drives made-up fields and compares areas and outlines
// with the union that GEOS (https://libgeos.org) makes of the very same quads.
func TestFieldsAgainstGEOS(t *testing.T) {
	t.Parallel()
	plain := drive{widthM: 48, lengthM: 60, barM: 12, sections: 1, overlapM: 0.3, stepM: 0.25, merged: true, seed: 7}
	tests := []struct {
		name string
		edit func(*drive)
	}{
		{"along the y axis", func(d *drive) {}},
		{"along the x axis", func(d *drive) { d.angleDeg = 90 }},
		{"at 31 degrees", func(d *drive) { d.angleDeg = 31 }},
		{"at 45 degrees", func(d *drive) { d.angleDeg = 45 }},
		{"at an angle with steering noise", func(d *drive) { d.angleDeg, d.noiseM = 117.3, 0.02 }},
		{"passes overlap by 5 cm", func(d *drive) { d.overlapM, d.angleDeg = 0.05, 203 }},
		{"passes overlap by 5 cm, with noise", func(d *drive) { d.overlapM, d.angleDeg, d.noiseM = 0.05, 11, 0.02 }},
		{"passes overlap by 1 m", func(d *drive) { d.overlapM, d.noiseM = 1, 0.02 }},
		{"passes overlap by 3 m", func(d *drive) { d.overlapM, d.noiseM, d.angleDeg = 3, 0.02, 280 }},
		{"passes just meet", func(d *drive) { d.overlapM, d.angleDeg = 0, 61 }},
		{"passes leave 10 cm", func(d *drive) { d.overlapM, d.noiseM, d.angleDeg = -0.1, 0.02, 61 }},
		{"2 sections switching", func(d *drive) { d.sections, d.switching, d.angleDeg = 2, 0.02, 31 }},
		{"8 sections switching, noise", func(d *drive) { d.sections, d.switching, d.noiseM = 8, 0.02, 0.02 }},
		{"24 sections switching, unmerged", func(d *drive) {
			d.barM, d.sections, d.switching, d.merged, d.widthM, d.lengthM = 24, 24, 0.02, false, 48, 30
		}},
		{"72 sections unmerged, noise", func(d *drive) {
			d.barM, d.sections, d.merged, d.widthM, d.lengthM, d.noiseM, d.stepM = 36, 72, false, 72, 40, 0.02, 0.5
		}},
		{"72 sections switching", func(d *drive) {
			d.barM, d.sections, d.switching, d.widthM, d.lengthM, d.stepM = 36, 72, 0.01, 120, 60, 0.5
		}},
		{"headland round first", func(d *drive) { d.headland, d.noiseM, d.angleDeg = true, 0.02, 31 }},
		{"headland round first, no noise", func(d *drive) { d.headland = true }},
		{"turns of half the spacing", func(d *drive) { d.turnM, d.angleDeg = 5.85, 31 }},
		{"turns tighter than the bar", func(d *drive) { d.turnM, d.noiseM, d.angleDeg = 2.5, 0.02, 77 }},
		{"curved passes", func(d *drive) { d.curveM, d.angleDeg = 8, 31 }},
		{"curved passes, noise", func(d *drive) { d.curveM, d.noiseM, d.overlapM = 15, 0.02, 0.6 }},
		{"all at once", func(d *drive) {
			d.curveM, d.noiseM, d.headland, d.turnM, d.sections, d.switching, d.angleDeg = 4, 0.03, true, 4, 6, 0.01, 153
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			d := plain
			tt.edit(&d)
			checkField(t, d)
		})
	}
}

// TestRandomFieldsAgainstGEOS does the same for fields drawn by a fixed seed.
func TestRandomFieldsAgainstGEOS(t *testing.T) {
	t.Parallel()
	for seed := range uint64(12) {
		d := randomDrive(seed)
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			t.Parallel()
			checkField(t, d)
		})
	}
}

// checkField holds the areas to 20 ppm of the gross area and the outlines to
// 100 ppm.
func checkField(t *testing.T, d drive) {
	t.Helper()
	quads := d.quads()
	s := add(quads)
	covered, gross := s.Covered().M2(), s.Gross().M2()
	outline := s.Outline(1)
	want := geos(t, question{quads: quads, outline: outline, twice: len(quads) < 3000})
	sum := 0.0
	for _, q := range quads {
		sum += q.Area().M2()
	}

	const limit = 20 // ppm of gross
	check := func(what string, got, want, limit float64) {
		if off := ppm(got, want, gross); math.Abs(off) > limit || math.IsNaN(off) {
			t.Errorf("%s: %.4f m2, want %.4f m2: off by %.2f ppm of gross, limit %g\n%+v", what, got, want, off, limit, d)
		}
	}
	check("gross", gross, want.GrossM2, limit)
	check("sum of quads' areas", sum, want.GrossM2, 0.01)
	check("covered", covered, want.UnionM2, limit)
	check("overlap", gross-covered, want.GrossM2-want.UnionM2, limit)
	t.Logf("%d quads, gross %.1f m2: covered off %+.2f ppm, overlap off %+.2f ppm of gross; outline off %+.1f ppm, %d corners", len(quads), gross,
		ppm(covered, want.UnionM2, gross), ppm(gross-covered, want.GrossM2-want.UnionM2, gross), ppm(want.OutlineM2, covered, covered), countCorners(outline))

	if len(want.Bad) > 0 {
		t.Errorf("outline is not valid: %q\n%+v", want.Bad, d)
	}
	check("outline", want.OutlineM2, covered, 100)
	check("union of the outline's polygons", want.ApartM2, want.OutlineM2, 0.01)
	// Sides may be moved 1 cm: the ground in dispute is at most that along them,
	// and a scanline at each square end.
	if ringM := perimeterM(outline); want.DifferenceM2 > 0.01*ringM+0.05*0.5*float64(countCorners(outline)) {
		t.Errorf("outline and union differ by %.2f m2, perimeter %.0f m\n%+v", want.DifferenceM2, ringM, d)
	}

	again := s.Outline(2)
	twice := geos(t, question{outline: again})
	if len(twice.Bad) > 0 {
		t.Errorf("outline of ground covered twice is not valid: %q\n%+v", twice.Bad, d)
	}
	if want.TwiceM2 > 0 {
		// Its scanlines are 15 cm apart, so its ends are rougher.
		check("outline of ground covered twice", twice.OutlineM2, want.TwiceM2, 300)
	}
}

func perimeterM(polygons []Polygon) (sum float64) {
	for _, p := range polygons {
		for _, r := range p {
			for i, b := range r[1:] {
				sum += math.Hypot(float64(b.X-r[i].X), float64(b.Y-r[i].Y)) / 1e4
			}
		}
	}
	return sum
}
