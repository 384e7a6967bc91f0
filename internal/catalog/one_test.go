package catalog_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"

	"drawbar/internal/catalog"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// again reads an item from its JSON, with its revision and what it belongs to.
func again[T any](ctx context.Context, x catalog.Items[T], item T, meta catalog.Meta, parent string, of catalog.ID) error {
	var members map[string]json.RawMessage
	if err := json.Unmarshal(x.JSON(item), &members); err != nil {
		return err
	}
	members["revision"] = fmt.Append(nil, meta.Revision)
	if parent != "" {
		members[parent] = fmt.Appendf(nil, "%q", of)
	}
	text, err := json.Marshal(members)
	if err != nil {
		return err
	}
	got, err := x.Read(ctx, text)
	if err != nil {
		return fmt.Errorf("%s: %w", text, err)
	}
	if !bytes.Equal(x.JSON(got), x.JSON(item)) {
		return fmt.Errorf("%s: got %s", x.JSON(item), x.JSON(got))
	}
	if diff := cmp.Diff(item, got); diff != "" && meta.ID != "" {
		return fmt.Errorf("(-item +read):\n%s", diff)
	}
	return nil
}

// Any item comes back from its JSON as it was.
func TestAnyItemComesBack(t *testing.T) {
	t.Parallel()
	c := empty(t)
	rapid.Check(t, func(rt *rapid.T) {
		ctx := rt.Context()
		if _, err := c.Import(ctx, "any", []byte(encoded(t, anyDocument(rt))), true); err != nil {
			rt.Fatal(err)
		}
		d, err := c.Export(ctx)
		if err != nil {
			rt.Fatal(err)
		}
		var errs []error
		for _, v := range d.Fields {
			errs = append(errs, again(ctx, c.Fields, v, v.Meta, "", ""))
		}
		for _, v := range d.Seasons {
			errs = append(errs, again(ctx, c.Seasons, v, v.Meta, "field", v.Field))
		}
		for _, v := range d.Plans {
			errs = append(errs, again(ctx, c.Plans, v, v.Meta, "season", v.Season))
		}
		for _, v := range d.Implements {
			errs = append(errs, again(ctx, c.Implements, v, v.Meta, "", ""))
		}
		for _, v := range d.Tractors {
			errs = append(errs, again(ctx, c.Tractors, v, v.Meta, "", ""))
		}
		for _, v := range d.Products {
			errs = append(errs, again(ctx, c.Products, v, v.Meta, "", ""))
		}
		for _, v := range d.People {
			errs = append(errs, again(ctx, c.People, v, v.Meta, "", ""))
		}
		if err := errors.Join(errs...); err != nil {
			rt.Fatal(err)
		}
	})
}

// Everything wrong with an item is told by its member's path, and nothing is guessed.
func TestReadFaults(t *testing.T) {
	t.Parallel()
	c := empty(t)
	ctx := t.Context()
	const oats = "kettlehollowfarmfirthaaaaa"
	if _, err := c.Products.Add(ctx, catalog.Product{Meta: catalog.Meta{ID: oats}, Name: "Firth oats", Kind: catalog.Seed}); err != nil {
		t.Fatal(err)
	}
	read := map[string]func(string) error{
		"field":     func(s string) error { _, err := c.Fields.Read(ctx, []byte(s), "area_m2"); return err },
		"season":    func(s string) error { _, err := c.Seasons.Read(ctx, []byte(s)); return err },
		"plan":      func(s string) error { _, err := c.Plans.Read(ctx, []byte(s)); return err },
		"implement": func(s string) error { _, err := c.Implements.Read(ctx, []byte(s)); return err },
		"tractor":   func(s string) error { _, err := c.Tractors.Read(ctx, []byte(s)); return err },
		"product":   func(s string) error { _, err := c.Products.Read(ctx, []byte(s)); return err },
		"person":    func(s string) error { _, err := c.People.Read(ctx, []byte(s)); return err },
	}
	for _, x := range []struct{ kind, text, want string }{
		{"field", `{"name":"Mill Piece","area_m2":7,"revision":3}`, ""},
		{"field", `{"name":"Mill Piece","revision":-1}`, "revision"},
		{"field", `{"name":"Mill Piece","revision":1.5}`, "revision"},
		{"field", `{}`, "name"},
		{"field", `{"name":"x","seasons":[]}`, "seasons"},
		{"field", `{"name":"x","boundary":{"type":"Polygon","coordinates":[[[0,53],[0.01,53],[0,53]]]}}`, "boundary.coordinates[0]"},
		{"field", `{"name":"x","id":"hello"}`, "id"},
		{"field", `{"name":"x",}`, ""}, // no JSON: told without a member
		{"season", `{"crop":"Spring oats","year":2026}`, "field"},
		{"season", `{"crop":"Spring oats","year":2026,"field":"Mill Piece"}`, "field"},
		{"season", `{"crop":"Spring oats","year":2026,"field":7}`, "field"},
		{"season", `{"crop":"Spring oats","field":"` + oats + `","crop_code":"avesa","year":2026}`, "crop_code"},
		{"season", `{"crop":"Spring oats","field":"` + oats + `","start":"2026-02-30"}`, "start"},
		{"plan", `{"season":"` + oats + `","order":1,"operation":"seeding","product":"firth oats","rate":"180 kg/ha"}`, ""},
		{"plan", `{"season":"` + oats + `","order":1,"operation":"seeding","product":"` + oats + `","rate":"180 kg/ha"}`, ""},
		{"plan", `{"season":"` + oats + `","order":1,"operation":"seeding","product":"barley","rate":"180 kg/ha"}`, "product"},
		{"plan", `{"season":"` + oats + `","order":0,"operation":"","product":"Firth oats","rate":"180"}`, "operation order rate"},
		{"implement", `{"name":"Drill","mount":"towed","sections_m":[3,-3]}`, "hitch_to_axle_m sections_m[1]"},
		{"tractor", `{"name":"Big","antenna_to_hitch_m":900}`, "antenna_to_hitch_m"},
		{"product", `{"name":"x","kind":"blend","shares_by":"mass","parts":[{"product":"Firth oats","share":1},{"product":"?","share":1}]}`, "parts[1].product"},
		{"product", `{"name":"x","kind":"granular","analysis":{"n_pct":101}}`, "analysis.n_pct"},
		{"product", `{"name":"x","kind":"crop protection","substances":[{"name":"examplazole","content":"much"}]}`, "substances[0].content"},
		{"product", `{"name":"x","kind":"granular","price":"cheap"}`, "price"},
		{"person", `{"name":"Driver","licence":7}`, "licence"},
	} {
		err := read[x.kind](x.text)
		var invalid *catalog.InvalidError
		if x.want == "" && !strings.Contains(x.text, ",}") {
			if err != nil {
				t.Errorf("%s %s: %v", x.kind, x.text, err)
			}
			continue
		}
		if !errors.As(err, &invalid) {
			t.Errorf("%s %s: got %v, want faults of %s", x.kind, x.text, err, x.want)
			continue
		}
		var paths []string
		for _, p := range invalid.Problems {
			paths = append(paths, p.Path)
		}
		if got := strings.Join(paths, " "); got != x.want {
			t.Errorf("%s %s: got faults of %q, want %q: %v", x.kind, x.text, got, x.want, err)
		}
	}
}

// Whatever a client sends is read or refused, and what is read comes back.
func FuzzRead(f *testing.F) {
	for _, s := range []string{
		`{"name":"Mill Piece","boundary":{"type":"Polygon","coordinates":[[[0,53],[0.01,53],[0.01,53.01],[0,53]]]},"revision":2}`,
		`{"crop":"Spring oats","field":"kettlehollowfarmmillpiecea","start":"2026-03-01","target_yield":"6.5 t/ha"}`,
		`{"season":"kettlehollowfarmoatsaaaaaa","order":1,"operation":"seeding","product":"Firth oats","rate":"180 kg/ha"}`,
		`{"name":"12 m drill","mount":"towed","hitch_to_axle_m":6,"sections_m":[3,3,3,3]}`,
		`{"name":"Rust guard","kind":"crop protection","substances":[{"name":"examplazole","content":"250 g/l"}],"price":"12.5 EUR/l"}`,
		`{"name":"Mix","kind":"blend","shares_by":"mass","parts":[{"product":"Firth oats","share":1}]}`,
	} {
		f.Add([]byte(s))
	}
	c := empty(f)
	if _, err := c.Products.Add(f.Context(), catalog.Product{Name: "Firth oats", Kind: catalog.Seed}); err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		ctx := t.Context()
		if v, err := c.Fields.Read(ctx, text); err == nil {
			v.ID, v.Revision = "", 0
			if err := again(ctx, c.Fields, v, v.Meta, "", ""); err != nil {
				t.Error(err)
			}
		}
		if v, err := c.Implements.Read(ctx, text); err == nil {
			v.ID, v.Revision = "", 0
			if err := again(ctx, c.Implements, v, v.Meta, "", ""); err != nil {
				t.Error(err)
			}
		}
		if v, err := c.Products.Read(ctx, text); err == nil {
			v.ID, v.Revision = "", 0
			if err := again(ctx, c.Products, v, v.Meta, "", ""); err != nil {
				t.Error(err)
			}
		}
		if v, err := c.Seasons.Read(ctx, text); err == nil {
			if err := again(ctx, c.Seasons, v, catalog.Meta{}, "field", v.Field); err != nil {
				t.Error(err)
			}
		}
		if v, err := c.Plans.Read(ctx, text); err == nil {
			if err := again(ctx, c.Plans, v, catalog.Meta{}, "season", v.Season); err != nil {
				t.Error(err)
			}
		}
	})
}
