package coverage

import (
	"slices"
	"testing"

	"drawbar/controller"
)

func TestStatesOfSections(t *testing.T) {
	t.Parallel()
	bits := controller.NewSections(4)
	bits.Set(1, true)
	bits.Set(3, true)
	const u, off, on = SectionUnknown, SectionOff, SectionOn
	for _, c := range []struct {
		name string
		m    *metered
		want []SectionState
	}{
		{"nothing known", nil, []SectionState{u, u, u}},
		{"work off", &metered{all: true}, []SectionState{off, off, off}},
		{"whole bar", &metered{on: true, all: true}, []SectionState{on, on, on}},
		{"more named than there are", &metered{on: true, sections: bits}, []SectionState{off, on, off}},
		{"named but work is off", &metered{sections: bits}, []SectionState{off, off, off}},
	} {
		if got := c.m.states(3); !slices.Equal(got, c.want) {
			t.Errorf("%s: got %v, want %v", c.name, got, c.want)
		}
	}
}

// A snapshot changes nothing: a run that is watched gives what its replay gives.
func TestSnapshotOnlyReads(t *testing.T) {
	t.Parallel()
	im := &Implement{SectionsM: []float64{3, 3}}
	e := NewEngine(Setup{Implement: im, Limits: DefaultLimits(), StaleS: 2})
	e.layPlane(53.35, -0.1)
	e.placed = true // before anything was painted
	bits := controller.NewSections(3)
	bits.Set(0, true)
	e.meter.push(0, controller.Report{Has: controller.HasSections, Sections: bits})
	e.meter.sectionCursor = e.meter.last()
	before := e.notes
	s := e.Snapshot()
	if want := []SectionState{SectionOn, SectionOff}; !slices.Equal(s.Metered, want) || !slices.Equal(s.Sections, want) {
		t.Errorf("sections of a report of three on a bar of two: got %v and %v, want %v", s.Sections, s.Metered, want)
	}
	if e.notes != before {
		t.Errorf("a snapshot left a note: %+v, before it %+v", e.notes, before)
	}
}
