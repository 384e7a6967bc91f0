package catalog_test

import (
	"errors"
	"testing"
	"time"

	"drawbar/internal/catalog"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// addMarks adds random marks to a document.
func addMarks(t *rapid.T, d *catalog.Document, meta func() catalog.Meta) {
	moment := func(what string) time.Time {
		return time.Unix(rapid.Int64Range(0, 4e9).Draw(t, what), rapid.Int64Range(0, 999_999_999).Draw(t, what+" ns")).UTC()
	}
	for i := range rapid.IntRange(0, 4).Draw(t, "marks") {
		m := catalog.Mark{Meta: meta(), Kind: anyText().Draw(t, "kind"), Note: anyNote().Draw(t, "note"), Left: moment("left")}
		if m.HasPlace = rapid.Bool().Draw(t, "place"); m.HasPlace {
			m.LonDeg, m.LatDeg = anyNumber(-180, 180).Draw(t, "lon"), anyNumber(-90, 90).Draw(t, "lat")
		}
		switch {
		case len(d.Fields) > 0 && rapid.Bool().Draw(t, "in a field"):
			m.Field = rapid.SampledFrom(d.Fields).Draw(t, "field").ID
		case rapid.Bool().Draw(t, "in another field"):
			m.FieldName = anyText().Draw(t, "field name")
		}
		if rapid.Bool().Draw(t, "of a session") {
			m.Origin = catalog.OriginOf("000017-20260514T130510Z", i+1)
		}
		if m.Done = rapid.Bool().Draw(t, "done"); m.Done || rapid.Bool().Draw(t, "opened again") {
			m.Settled, m.SettledBy = moment("settled"), rapid.OneOf(rapid.Just(""), anyText()).Draw(t, "by")
		}
		d.Marks = append(d.Marks, m)
	}
}

const session = "000017-20260514T130510Z"

func sessionMark(n int, kind string) catalog.Mark {
	return catalog.Mark{
		Kind: kind, Note: "by the oak", LonDeg: 0.001 * float64(n), LatDeg: 53.35, HasPlace: true,
		Left: time.Date(2026, 5, 14, 13, n, 0, 200_000_000, time.UTC), Origin: catalog.OriginOf(session, n), FieldName: "Mill Piece",
	}
}

func standing(t *testing.T, c *catalog.Catalog) (out []string) {
	t.Helper()
	all, err := c.Marks.List(t.Context(), catalog.Which{})
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range all {
		state := "open"
		if m.Done {
			state = "done by " + m.SettledBy
		}
		out = append(out, m.Origin+" "+m.Kind+" "+state)
	}
	return out
}

// What a session says of marks is kept once, however often it is told: what is
// withdrawn is gone, what a person wrote of a mark stays, and of two words on the
// state of a mark the later one counts, in whatever order they come.
func TestKeepMarks(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	c := empty(t)
	keep := func(want catalog.Kept, of catalog.SessionMarks) {
		t.Helper()
		of.Session = session
		did, err := c.KeepMarks(ctx, of)
		if err != nil || did != want {
			t.Errorf("got %+v, %v, want %+v", did, err, want)
		}
	}
	three := []catalog.Mark{sessionMark(1, "stone"), sessionMark(2, "wet spot"), sessionMark(3, "post")}
	keep(catalog.Kept{Added: 3}, catalog.SessionMarks{Marks: three})
	keep(catalog.Kept{}, catalog.SessionMarks{Marks: three})

	m, err := c.MarkOf(ctx, catalog.OriginOf(session, 1))
	if err != nil {
		t.Fatal(err)
	}
	m.Note = "the size of a wheel"
	if m, err = c.Marks.Update(ctx, m); err != nil {
		t.Fatal(err)
	}
	noon := time.Date(2026, 5, 20, 12, 0, 0, 0, time.UTC)
	say := func(n int, done bool, minute int, by string) catalog.Settlement {
		return catalog.Settlement{Origin: catalog.OriginOf(session, n), Done: done, At: noon.Add(time.Duration(minute) * time.Minute), By: by}
	}
	moved := append([]catalog.Mark{}, three...)
	moved[0].LonDeg = 0.0011 // the implement was corrected
	keep(catalog.Kept{Moved: 1, Withdrawn: 1, Settled: 3}, catalog.SessionMarks{
		Marks:   []catalog.Mark{moved[0], moved[2]},
		Settled: []catalog.Settlement{say(1, true, 0, "Driver"), say(3, true, 1, "Driver"), say(3, false, 2, "Agronomist"), say(9, true, 2, "Driver")},
	})
	if diff := cmp.Diff([]string{session + "#1 stone done by Driver", session + "#3 post open"}, standing(t, c)); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	got, err := c.MarkOf(ctx, m.Origin)
	want := m
	want.LonDeg, want.Done, want.Settled, want.SettledBy = 0.0011, true, noon, "Driver"
	if diff := cmp.Diff(want, got, cmpopts.IgnoreFields(catalog.Meta{}, "Revision")); diff != "" || err != nil {
		t.Errorf("%v (-want +got):\n%s", err, diff)
	}
	// Told anew, the older word does not undo the later one.
	keep(catalog.Kept{}, catalog.SessionMarks{Marks: []catalog.Mark{moved[0], moved[2]}, Settled: []catalog.Settlement{say(3, true, 1, "Driver")}})
	// Another session's marks, and one whose name goes on, are left alone.
	other := sessionMark(1, "drain")
	other.Origin = catalog.OriginOf(session+"#1", 1)
	if _, err := c.KeepMarks(ctx, catalog.SessionMarks{Session: session + "#1", Marks: []catalog.Mark{other}}); err != nil {
		t.Fatal(err)
	}
	keep(catalog.Kept{Withdrawn: 2}, catalog.SessionMarks{})
	if diff := cmp.Diff([]string{session + "#1#1 drain open"}, standing(t, c)); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	// A mark that stands again, by a correction taken back.
	keep(catalog.Kept{Moved: 1}, catalog.SessionMarks{Marks: []catalog.Mark{moved[0]}})
}

func TestMarksKept(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	c := empty(t)
	for _, x := range []struct {
		whole       bool
		corrections int64
		ask         int64
		want        bool
	}{
		{false, 0, 0, false}, // it goes on
		{true, 0, 0, true},
		{true, 0, 120, false}, // a correction was added
		{true, 120, 120, true},
	} {
		if _, err := c.KeepMarks(ctx, catalog.SessionMarks{Session: session, Whole: x.whole, Corrections: x.corrections}); err != nil {
			t.Fatal(err)
		}
		if got, err := c.MarksKept(ctx, session, x.ask); err != nil || got != x.want {
			t.Errorf("%+v: got %v, %v", x, got, err)
		}
	}
}

// A mark with faults is refused with all that comes with it.
func TestMarkFaults(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	c := empty(t)
	first, err := c.Marks.Add(ctx, sessionMark(1, "stone"))
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct {
		path   string
		change func(*catalog.Mark)
	}{
		{"origin", func(m *catalog.Mark) { m.Origin = first.Origin }},
		{"origin", func(m *catalog.Mark) { m.Origin = "#3" }},
		{"origin", func(m *catalog.Mark) { m.Origin = "a#03" }},
		{"field", func(m *catalog.Mark) { m.Field, m.FieldName = catalog.NewID(), "" }},
		{"field_name", func(m *catalog.Mark) { m.Field = catalog.NewID() }},
		{"kind", func(m *catalog.Mark) { m.Kind = " " }},
		{"at", func(m *catalog.Mark) { m.LatDeg = 91 }},
		{"at", func(m *catalog.Mark) { m.HasPlace = false }},
		{"left", func(m *catalog.Mark) { m.Left = time.Time{} }},
		{"settled", func(m *catalog.Mark) { m.Done = true }},
		{"settled_by", func(m *catalog.Mark) { m.SettledBy = "Driver" }},
	} {
		m := sessionMark(2, "stone")
		x.change(&m)
		_, err := c.Marks.Add(ctx, m)
		var invalid *catalog.InvalidError
		if !errors.As(err, &invalid) || invalid.Problems[0].Path != x.path {
			t.Errorf("got %v, want a problem of %s", err, x.path)
		}
		if _, err := c.KeepMarks(ctx, catalog.SessionMarks{Session: session, Marks: []catalog.Mark{first, sessionMark(3, "post"), m}}); err == nil && m.Origin != first.Origin {
			t.Errorf("%s: it was kept", x.path)
		}
	}
	if got := standing(t, c); len(got) != 1 {
		t.Errorf("got %q, want the first alone", got)
	}
}

// A field with marks is archived, not removed: they are still in it.
func TestFieldOfMarks(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	c := empty(t)
	f, err := c.Fields.Add(ctx, catalog.Field{Name: "Mill Piece"})
	if err != nil {
		t.Fatal(err)
	}
	m := sessionMark(1, "stone")
	m.Field, m.FieldName = f.ID, ""
	if _, err := c.Marks.Add(ctx, m); err != nil {
		t.Fatal(err)
	}
	if did, err := c.Fields.Remove(ctx, f.ID, f.Revision); err != nil || did != catalog.Archived {
		t.Errorf("got %v, %v, want it archived", did, err)
	}
	if of, err := c.Marks.List(ctx, catalog.Which{Of: f.ID}); err != nil || len(of) != 1 {
		t.Errorf("got %v, %v, want its mark", of, err)
	}
}
