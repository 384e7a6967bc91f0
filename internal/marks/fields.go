package marks

import (
	"context"

	"drawbar/coverage"
	"drawbar/internal/boundary"
	"drawbar/internal/catalog"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// fields are those of the catalogue, by which a mark's field is told.
type fields []catalog.Field

func (k *Keeper) fields(ctx context.Context, needed bool) (fields, error) {
	if !needed {
		return nil, nil
	}
	return k.c.Catalog.Fields.List(ctx, catalog.Which{})
}

// of is the field that a mark lies in; where it lies in none, as at a gate or where
// no outline is known, the one that was worked. Of several it lies in, the one that
// was worked.
func (f fields) of(m coverage.Mark) (id catalog.ID, name string) {
	for _, field := range f {
		said := boundary.Same(field.Name, m.Field)
		if m.Known && len(field.Outline) > 0 && inside(field.Outline, orb.Point{m.LonDeg, m.LatDeg}) && (said || id == "") {
			id = field.ID
			if said {
				return id, ""
			}
		}
	}
	for _, field := range f {
		if id == "" && m.Field != "" && boundary.Same(field.Name, m.Field) {
			id = field.ID
		}
	}
	if id == "" {
		return "", m.Field
	}
	return id, ""
}

func inside(outline orb.MultiPolygon, at orb.Point) bool {
	return outline.Bound().Contains(at) && planar.MultiPolygonContains(outline, at)
}

// marks are a session's marks as the catalogue has them. One that a correction added
// has no number by which it could be known again, and is left to the session.
func (f fields) marks(session string, of []coverage.Mark) (out []catalog.Mark) {
	for _, m := range of {
		if m.Number < 1 {
			continue
		}
		c := catalog.Mark{Kind: m.Kind, Note: m.Note, Left: m.Time, Origin: catalog.OriginOf(session, m.Number)}
		if m.Known {
			c.LonDeg, c.LatDeg, c.HasPlace = m.LonDeg, m.LatDeg, true
		}
		c.Field, c.FieldName = f.of(m)
		out = append(out, c)
	}
	return out
}
