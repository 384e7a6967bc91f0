package records

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"drawbar/internal/catalog"
)

// Steps come by field, season and order whatever the order in the catalogue, work is at
// the plan of its season that names its product, and the rest is told, the latest first.
func TestProgressInOrder(t *testing.T) {
	t.Parallel()
	meta := func(id string) catalog.Meta { return catalog.Meta{ID: catalog.ID(id)} }
	plan := func(id, season, product string, order int) catalog.Plan {
		return catalog.Plan{Meta: meta(id), Season: catalog.ID(season), Product: catalog.ID(product), Operation: "spreading", Order: order}
	}
	d := &catalog.Document{
		Fields:   []catalog.Field{{Meta: meta("f2"), Name: "mill Piece", AreaM2: 20_000}, {Meta: meta("f1"), Name: "Long Meadow", AreaM2: 10_000}},
		Seasons:  []catalog.Season{{Meta: meta("s2"), Field: "f2", Year: 2026}, {Meta: meta("s1"), Field: "f1", Year: 2026}, {Meta: meta("s0"), Field: "f1", Year: 2025}},
		Products: []catalog.Product{{Meta: meta("u"), Name: "Urea", Kind: catalog.Granular}, {Meta: meta("p"), Name: "Potash", Kind: catalog.Granular}},
		Plans:    []catalog.Plan{plan("d", "s2", "u", 1), plan("c", "s1", "p", 2), plan("b", "s1", "u", 1), plan("a", "s1", "p", 1), plan("e", "s0", "u", 1)},
	}
	op := func(session int, field, product string, at time.Time, m2 float64) Operation {
		o := Operation{Session: fmt.Sprintf("%06d", session), Sums: []Sum{{Name: product, Unit: "kg", AreaM2: m2}}}
		o.Number, o.Field, o.OperationFigures.Operation = 1, field, "spreading"
		o.OperationRecord.Start = at
		o.Area.GrossM2, o.Area.CoveredM2 = m2, m2
		o.Products = append(o.Products, o.Sums[0].figures())
		return o
	}
	day := func(year, n int) time.Time { return time.Date(year, 5, n, 8, 0, 0, 0, time.UTC) }
	x := &Index{}
	x.view.Store(newView([]Operation{
		op(1, "Long Meadow", "urea", day(2026, 1), 4000), op(2, "Mill Piece", "Lime", day(2026, 2), 100),
		op(3, "long meadow", "Urea", day(2026, 3), 5000), op(4, "Long Meadow", "Lime", day(2026, 4), 200),
		op(5, "Long Meadow", "Urea", day(2025, 1), 9000), op(6, "Mill Piece", "Urea", day(2026, 5), 30_000),
	}, nil, newBook(d, time.UTC)))
	for _, c := range []struct {
		season    string
		field     string
		steps     []string
		unplanned []string
	}{
		{"2026", "", []string{"a 0 []", "b 9000 [000003/1 000001/1]", "c 0 []", "d 20000 [000006/1]"}, []string{"000004/1 200", "000002/1 100"}},
		{"2026", "MILL PIECE", []string{"d 20000 [000006/1]"}, []string{"000002/1 100"}},
		{"s0", "", []string{"e 9000 [000005/1]"}, nil},
		{"2024", "", nil, nil},
	} {
		var field *string
		if c.field != "" {
			field = &c.field
		}
		p := x.Progress(c.season, field)
		var steps, unplanned []string
		for _, s := range p.Steps {
			steps = append(steps, fmt.Sprint(s.Plan, " ", s.DoneM2, " ", s.Operations))
		}
		for _, u := range p.Unplanned {
			unplanned = append(unplanned, fmt.Sprint(u.Ref, " ", u.CoveredM2))
		}
		if !slices.Equal(steps, c.steps) || !slices.Equal(unplanned, c.unplanned) {
			t.Errorf("%s %s: got %q, unplanned %q; want %q, %q", c.season, c.field, steps, unplanned, c.steps, c.unplanned)
		}
	}
}
