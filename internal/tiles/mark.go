package tiles

import (
	"slices"

	"drawbar/coverage"
)

// Kept is what the catalogue has of a mark.
type Kept struct {
	ID   string
	Done bool
	Kind string // as it was corrected
	Note string
}

// Mark is a mark as it is drawn. One of an earlier session has no number.
type Mark struct {
	coverage.Mark
	Kept
	Earlier bool
}

// SetMarks says what is kept of the session's own marks, by their numbers, and which
// marks of other sessions are drawn.
func (f *Feed) SetMarks(own map[int]Kept, others []Mark) {
	f.own, f.others, f.rekept = own, slices.Clone(others), true
}

// allMarks are those of the session, as they are kept, and those of others.
func (f *Feed) allMarks(session []coverage.Mark) []Mark {
	out := make([]Mark, 0, len(session)+len(f.others))
	for _, m := range session {
		kept, ok := f.own[m.Number]
		if !ok {
			kept = Kept{Kind: m.Kind, Note: m.Note}
		}
		out = append(out, Mark{Mark: m, Kept: kept})
	}
	return append(out, f.others...)
}

func drawMarks(f frame, out *layer, marks []Mark) []byte {
	for _, m := range marks {
		if !m.Known {
			continue
		}
		p := f.point(m.LatDeg, m.LonDeg)
		if p.x < -buffer || p.y < -buffer || p.x > extent+buffer || p.y > extent+buffer {
			continue
		}
		out.place(p)
		if m.Number > 0 && !m.Earlier {
			out.tagInt("number", int64(m.Number))
		}
		out.tagString("kind", m.Kept.Kind)
		out.tagString("note", m.Kept.Note)
		out.tagInt("time", m.Time.Unix())
		if m.ID != "" {
			out.tagString("id", m.ID)
		}
		out.tagBool("done", m.Done)
		out.tagBool("earlier", m.Earlier)
		out.end(geometryPoint)
	}
	return out.tile()
}
