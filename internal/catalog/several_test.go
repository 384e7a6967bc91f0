package catalog_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"
	"time"

	"drawbar/internal/catalog"

	"github.com/paulmach/orb"
)

// Several writers, through two open catalogues of one file, lose no change: each
// repeats what was in conflict.
func TestSeveralWriters(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	dir := t.TempDir()
	var open []*catalog.Catalog
	for range 2 {
		c, err := catalog.Open(ctx, dir)
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		open = append(open, c)
	}
	f, err := open[0].Fields.Add(ctx, catalog.Field{Name: "Far Reach"})
	if err != nil {
		t.Fatal(err)
	}
	const writers, each = 6, 10
	var wg sync.WaitGroup
	errs := make(chan error, writers)
	for w := range writers {
		wg.Go(func() {
			c := open[w%len(open)]
			for done := 0; done < each; {
				now, err := c.Fields.Get(ctx, f.ID)
				if err == nil {
					now.Note += "x"
					_, err = c.Fields.Update(ctx, now)
				}
				switch {
				case err == nil:
					done++
				case !errors.Is(err, catalog.ErrConflict):
					errs <- err
					return
				}
			}
		})
	}
	wg.Wait()
	close(errs)
	for err := range errs {
		t.Error(err)
	}
	got, err := open[1].Fields.Get(ctx, f.ID)
	if err != nil || len(got.Note) != writers*each || got.Revision != 1+writers*each {
		t.Errorf("got %d changes at revision %d, %v, want %d", len(got.Note), got.Revision, err, writers*each)
	}
}

func TestPutFields(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	c := farm(t)
	was, err := c.Fields.Named(ctx, "Mill Piece")
	if err != nil {
		t.Fatal(err)
	}
	files := []catalog.Field{{Name: "MILL PIECE", Outline: square(0, 53, 0.01)}, {Name: "Pond Close", Outline: square(0.1, 53, 0.01)}}
	_, err = c.PutFields(ctx, files, false)
	var exists *catalog.ExistsError
	if !errors.As(err, &exists) || len(exists.Names) != 1 {
		t.Fatalf("a field that is there: got %v", err)
	}
	if _, err := c.Fields.Named(ctx, "Pond Close"); !errors.Is(err, catalog.ErrNotFound) {
		t.Errorf("the other one: got %v, want nothing added", err)
	}
	n, err := c.PutFields(ctx, files, true)
	if want := (catalog.Changes{Added: 1, Changed: 1}); err != nil || n != want {
		t.Fatalf("update: got %+v, %v, want %+v", n, err, want)
	}
	now, err := c.Fields.Get(ctx, was.ID)
	if err != nil || now.Name != "Mill Piece" || now.Note != was.Note || now.AreaM2 < 5e5 || now.Revision != was.Revision+1 {
		t.Errorf("updated: got %+v, %v, want name and note kept, the new outline's area", now, err)
	}
	if n, err = c.PutFields(ctx, files, true); err != nil || n != (catalog.Changes{Same: 2}) {
		t.Errorf("the same again: got %+v, %v", n, err)
	}
	bow := catalog.Field{Name: "Bow", Outline: square(0, 53, 0.01)}
	bow.Outline[0][0][1], bow.Outline[0][0][2] = bow.Outline[0][0][2], bow.Outline[0][0][1]
	if _, err := c.PutFields(ctx, []catalog.Field{bow}, false); !errors.Is(err, catalog.ErrInvalid) || !strings.Contains(err.Error(), "Bow") {
		t.Errorf("a crossing outline: got %v", err)
	}
}

// Texts made to take time or memory are refused before they do.
func TestHostile(t *testing.T) {
	t.Parallel()
	const head = "schema: drawbar.catalog.1\n"
	keys := func(n int) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, ", k%d: 1", i)
		}
		return b.String()
	}
	for _, x := range []struct{ name, text string }{
		{"brackets", head + "fields: " + strings.Repeat("[", 1<<20)},
		{"braces", head + "fields:\n- " + strings.Repeat("{a: ", 1<<18)},
		{"many keys", head + "people:\n- {name: x" + keys(200_000) + "}\n"},
		{"as many keys as go", head + "people:\n- {name: x" + keys(9_000) + "}\n"},
		{"many items", head + "people:\n" + strings.Repeat("- {name: x}\n", 50_000)},
		{"many wrong items", head + "people:\n" + strings.Repeat("- 1\n", 1_000_000)},
		{"many lines", strings.Repeat("\n", 5_000_000)},
		{"a long item", head + "people:\n- name: " + strings.Repeat("x", 5<<20)},
		{"a long file", head + strings.Repeat("# comment\n", 7<<20)},
		{"JSON brackets", `{"fields": ` + strings.Repeat("[", 1<<20)},
		{"JSON braces", `{"fields": [` + strings.Repeat(`{"a": `, 1<<18)},
		{"JSON items", `{"schema": "drawbar.catalog.1", "people": [` + strings.Repeat(`{"name": "x"}, `, 50_000) + `{}]}`},
		{"JSON keys", `{` + strings.Repeat(`"fields": [], `, 1_000_000) + `"fields": []}`},
	} {
		begin := time.Now()
		_, err := catalog.Decode("x", []byte(x.text))
		if err == nil {
			t.Errorf("%s: not refused", x.name)
		}
		if took := time.Since(begin); took > 10*time.Second {
			t.Errorf("%s: took %v", x.name, took)
		} else {
			t.Logf("%s: %v: %.120s", x.name, took, err)
		}
	}
}

// The longest outline that a field may have goes out and in.
func TestLongOutline(t *testing.T) {
	t.Parallel()
	ring := make(orb.Ring, 0, 50_000)
	for i := range 49_999 {
		a := 2 * math.Pi * float64(i) / 49_999
		ring = append(ring, orb.Point{0.01 * math.Cos(a), 53 + 0.006*math.Sin(a)})
	}
	ring = append(ring, ring[0])
	c := empty(t)
	if _, err := c.Fields.Add(t.Context(), catalog.Field{Name: "Far Reach", Outline: orb.MultiPolygon{{ring}}}); err != nil {
		t.Fatal(err)
	}
	for _, format := range []catalog.Format{catalog.YAML, catalog.JSON} {
		text := exported(t, c, format)
		again := empty(t)
		if _, err := again.Import(t.Context(), "long", []byte(text), false); err != nil {
			t.Fatalf("format %d, %d bytes: %v", format, len(text), err)
		}
		if exported(t, again, format) != text {
			t.Errorf("format %d: not the same", format)
		}
	}
}
