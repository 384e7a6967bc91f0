package daemon

import (
	"drawbar/coverage"
	"drawbar/coverage/locate"
	"drawbar/internal/boundary"
	"drawbar/internal/live"
	"drawbar/internal/tiles"
	"drawbar/nmea"
	"drawbar/replay"
)

// place follows which of the known fields the machine is in. It belongs to the
// goroutine that owns the session.
type place struct {
	fields  []boundary.Field
	index   *locate.Index
	locator *locate.Locator
}

// newPlace knows the fields; those whose outline has no place are left out.
func newPlace(fields []boundary.Field) (place, error) {
	known := make([]locate.Field, len(fields))
	for i, f := range fields {
		known[i] = locate.Field{Name: f.Name, Boundary: replay.Outline(f.Outline).Boundary()}
	}
	index, err := locate.NewIndex(known)
	if err != nil {
		return place{}, err
	}
	return place{fields: fields, index: index, locator: locate.New(index)}, nil
}

// replace goes on with the fields of another; what is known of those of the same
// name stays.
func (p *place) replace(with place) {
	if p.locator == nil {
		*p = with
		return
	}
	p.locator.Replace(with.index)
	p.fields, p.index = with.fields, with.index
}

// drawn are the fields as the map shows them.
func (p *place) drawn() []tiles.Field {
	out := make([]tiles.Field, len(p.fields))
	for i, f := range p.fields {
		out[i] = tiles.Field{Name: f.Name, Boundary: replay.Outline(f.Outline).Boundary()}
	}
	return out
}

// step takes the latest fix of a session.
func (p *place) step(s *replay.Snapshot) live.Place {
	if p.locator == nil {
		return live.Place{}
	}
	f, w := &s.Fix, &s.Work
	now := p.locator.Step(locate.Fix{
		Time: f.Time, LatDeg: f.LatDeg, LonDeg: f.LonDeg,
		SpeedMPS: w.SpeedMPS, HasSpeed: w.HasSpeed,
		CourseDeg: f.CourseDeg, HasCourse: f.Has&nmea.HasCourse != 0,
		HalfBarM: barM(w.SectionsM) / 2, Work: workField(w), Working: anyOn(w.Sections),
	})
	out := live.Place{}
	if now.In {
		out.Field = now.Name
	}
	if o := now.Offer; o.OK {
		out.Offer = &live.Offer{Field: o.Name, Inside: o.Inside, InS: o.InS, HasInS: o.HasInS}
	}
	return out
}

func barM(sectionsM []float64) (sum float64) {
	for _, m := range sectionsM {
		sum += m
	}
	return sum
}

func workField(w *coverage.Snapshot) string {
	if w.Operation == nil {
		return ""
	}
	return w.Operation.Field
}

func anyOn(states []coverage.SectionState) bool {
	for _, s := range states {
		if s == coverage.SectionOn {
			return true
		}
	}
	return false
}
