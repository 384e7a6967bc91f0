package daemon_test

import (
	"bytes"
	"encoding/json"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"drawbar/internal/catalog"
	"drawbar/internal/recent"
	"drawbar/replay"
)

// Work is begun as it is suggested, a tank is filled and its product changed on the
// way: the recording holds each in one line, the state shows it, and the replay gives
// the same as the live run. What was laid is remembered after it.
func TestBeginIsRecorded(t *testing.T) {
	t.Parallel()
	sc := job()
	// What is said acts where it was said.
	steps := newStepped(sc)
	b := start(t, sc, steps.now)
	b.steps = steps
	farm := b.farm()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	field, err := farm.Fields.Add(t.Context(), catalog.Field{Name: "Long Meadow", Outline: ring(-0.01, 53.29, 0.03)})
	must(err)
	season, err := farm.Seasons.Add(t.Context(), catalog.Season{Field: field.ID, Crop: "Winter rye", Start: "2000-01-01"})
	must(err)
	rye, err := farm.Products.Add(t.Context(), catalog.Product{Name: "Winter rye", Kind: catalog.Seed, ThousandKernelG: 32})
	must(err)
	rate, err := catalog.ParseRate("90 kg/ha")
	must(err)
	_, err = farm.Plans.Add(t.Context(), catalog.Plan{Season: season.ID, Order: 1, Operation: "seeding", Product: rye.ID, Rate: rate, Tank: 1})
	must(err)
	_, err = farm.People.Add(t.Context(), catalog.Person{Name: "Driver"})
	must(err)

	var begun struct {
		Recorded bool
		Lacks    []string
	}
	sent := b.play(sc, func(n int) {
		switch n {
		case 300:
			var choices struct{ Begin json.RawMessage }
			b.waitFor("the field", func() bool { return slices.Contains(b.knows(), "Long Meadow") })
			if code := b.get("/api/choices?field=long+meadow", &choices); code != http.StatusOK {
				t.Errorf("choices: status %d", code)
			}
			if code := b.post("/api/begin", string(choices.Begin), &begun); code != http.StatusOK {
				t.Errorf("begin: status %d", code)
			}
			b.beside = 1
		case 600:
			if code := b.post("/api/tanks/1/refill", `{"amount":"500 kg","lot":"L-204"}`, nil); code != http.StatusOK {
				t.Errorf("refill: status %d", code)
			}
			if code := b.post("/api/products/quick", `{"name":"Farm oats","kind":"seed","tank":1,"rate":"100 kg/ha"}`, nil); code != http.StatusOK {
				t.Errorf("a product on the spot: status %d", code)
			}
			b.beside = 3
		}
	})
	if !begun.Recorded || len(begun.Lacks) > 0 {
		t.Errorf("begun: %+v", begun)
	}
	var state struct {
		Tanks     []struct{ Product string }
		Operation struct {
			Field, Operation string
			HasBoundary      bool `json:"has_boundary"`
		}
	}
	b.waitFor("the last line", func() bool { return b.events() >= sent+3 })
	b.get("/api/state", &state)
	if o := state.Operation; o.Field != "Long Meadow" || o.Operation != "seeding" || !o.HasBoundary || state.Tanks[0].Product != "Farm oats" {
		t.Errorf("state: %+v", state)
	}
	must(b.stop())

	var said []string
	for _, e := range recorded(t, b.dir) {
		if e.Stream == replay.StreamOperator && !bytes.Contains(e.Line, []byte(`"mark"`)) {
			said = append(said, string(e.Line))
		}
	}
	if len(said) != 3 || !strings.Contains(said[0], `"field":"Long Meadow","boundary":`) ||
		!strings.HasSuffix(said[0], `"person":"Driver","crop":"Winter rye","adjust":[{"tank":1,"product":{"name":"Winter rye","kind":"seed","thousand_kernel_g":32},"target":"90 kg/ha"}]}`) ||
		said[1] != `{"refill":{"tank":1,"amount":"500 kg","lot":"L-204"}}` || said[2] != `{"adjust":[{"tank":1,"product":{"name":"Farm oats","kind":"seed"},"target":"100 kg/ha"}]}` {
		t.Errorf("recorded:\n%s", strings.Join(said, "\n"))
	}
	summary, swaths := again(t, b.dir)
	live, err := json.Marshal(b.summary)
	must(err)
	replayed, err := json.Marshal(summary)
	must(err)
	if !bytes.Equal(live, replayed) || strings.Join(swaths, "\n") != strings.Join(b.swaths, "\n") {
		t.Errorf("the replay differs:\n    live %s\nreplayed %s", live, replayed)
	}
	var names []string
	for _, o := range summary.Operations {
		for _, p := range o.Products {
			names = append(names, o.Field+" "+p.Name)
		}
	}
	if !slices.Contains(names, "Long Meadow Winter rye") || !slices.Contains(names, "Long Meadow Farm oats") {
		t.Errorf("products: %q", names)
	}
	book, err := recent.Open(filepath.Join(b.dir, "data"))
	must(err)
	if uses := book.Here("Long Meadow"); len(uses) != 2 || uses[0].Product != "Farm oats" || uses[0].Target != "100 kg/ha" || book.LastPerson() != "Driver" {
		t.Errorf("remembered: %+v, %q", uses, book.LastPerson())
	}
}
