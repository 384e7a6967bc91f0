package main

import (
	"strings"
	"testing"

	"drawbar/internal/catalog"
)

// The file that the help shows is in order, and has every key that there is: those
// that a fault names.
func TestCatalogExample(t *testing.T) {
	t.Parallel()
	d, err := catalog.Decode("example", []byte(catalogExample))
	if err != nil {
		t.Fatal(err)
	}
	book := catalog.NewBook(d.Products)
	for _, p := range d.Products {
		if p.Kind == catalog.Blend && !book.Of(p.ID).HasAnalysis {
			t.Errorf("%s: no analysis", p.Name)
		}
	}
	const wrong = `schema: drawbar.catalog.1
fields:
- {name: A, x: 1, seasons: [{crop: B, year: 2026, x: 1, plans: [{order: 1, operation: c, product: D, rate: 1 kg/ha, x: 1}]}]}
implements: [{name: E, x: 1, sections_m: [1]}]
tractors: [{name: F, x: 1, antenna_to_hitch_m: 1}]
products:
- {name: D, kind: granular, x: 1, analysis: {x: 1}, substances: [{name: a, content: 1 %, x: 1}], parts: [{product: D, share: 1, x: 1}]}
people: [{name: G, x: 1}]
marks: [{kind: H, left: "2026-05-14T13:05:10Z", x: 1}]
x: 1
`
	_, err = catalog.Decode("wrong", []byte(wrong))
	if err == nil {
		t.Fatal("got no fault")
	}
	lists := 0
	for line := range strings.Lines(err.Error()) {
		_, keys, ok := strings.Cut(strings.TrimSpace(line), "an unknown key, want one of ")
		if !ok {
			continue
		}
		lists++
		for key := range strings.SplitSeq(keys, ", ") {
			if key != "id" && !strings.Contains(catalogExample, key+": ") && !strings.Contains(catalogExample, key+":\n") {
				t.Errorf("the example has no %s", key)
			}
		}
	}
	if lists < 10 {
		t.Errorf("got %d lists of keys, want those of all kinds:\n%v", lists, err)
	}
}
