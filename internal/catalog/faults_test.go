package catalog_test

import (
	"errors"
	"strings"
	"testing"

	"drawbar/internal/catalog"
)

// A fault says where it is and what should stand there, the same in YAML and JSON.
func TestFaults(t *testing.T) {
	t.Parallel()
	const head = "schema: drawbar.catalog.1\n"
	for _, x := range []struct{ name, text, want string }{
		{"nothing", "", `1:1: schema: got nothing, want schema: drawbar.catalog.1`},
		{"another schema", "schema: drawbar.catalog.9\n", `1:9: schema: got drawbar.catalog.9, want drawbar.catalog.1, the only layout that this program reads`},
		{"an unknown top key", head + "feilds: []\n", `2:1: feilds: got an unknown key, want a known key (did you mean fields?)`},
		{"a key twice", head + "fields: []\nfields: []\n", `3:1: fields: got the key a second time, want each key once`},
		{"no list", head + "fields: all\n", `2:9: fields: got all, want a list of fields`},
		{"a list at the top", "- name: Mill Piece\n", `1:1: got a line that is no key, want keys such as schema and fields at the begin of a line`},
		{"an unknown key", head + "fields:\n# all\n- name: Far Reach\n  aera: 3\n", `5:3: fields[0].aera: got an unknown key, want`},
		{"the area", head + "fields:\n- {name: Far Reach, area_m2: 10}\n", `3:21: fields[0].area_m2: got an unknown key`},
		{"no name", head + "fields:\n- note: x\n", `3:3: fields[0].name: got nothing, want the field's name`},
		{"a name that is a number", head + "fields:\n- name: 12\n", `3:9: fields[0].name: got 12, want the field's name as a text in quotes: "12"`},
		{"a second item", head + "people:\n  - name: Driver\n\n  - licence: \"1\"\n", `5:5: people[1].name: got nothing`},
		{"a dash too far right", head + "people:\n- name: Driver\n  - name: Other\n", `4:3: got text that is no YAML`},
		{"a tab", head + "people:\n-\tname: Driver\n\tlicence: \"1\"\n", `3:6: got text that is no YAML (tab`},
		{"an anchor", head + "people:\n- &a {name: Driver}\n", `3:3: got a YAML anchor or alias`},
		{"two documents", head + "---\nfields: []\n", `2:1: got a line that is no key`},
		{"no unit", head + "fields:\n- name: A\n  seasons:\n  - {crop: Oats, year: 2026, target_yield: 6.5 furlongs}\n", `5:44: fields[0].seasons[0].target_yield: got 6.5 furlongs, want a mass or a volume per area`},
		{"year and dates", head + "fields:\n- name: A\n  seasons:\n  - crop: Oats\n    year: 2026\n    start: \"2026-03-01\"\n", `6:11: fields[0].seasons[0].year: got 2026 beside dates, want a year, or start and end, not both`},
		{"no such product", head + "fields:\n- name: A\n  seasons:\n  - crop: Oats\n    year: 2026\n    plans:\n    - {order: 1, operation: seeding, product: Barley, rate: 180 kg/ha}\n", `8:47: fields[0].seasons[0].plans[0].product: got Barley, want the name or the id of a product of the catalogue`},
		{"litres of seed", head + "fields:\n- name: A\n  seasons:\n  - crop: Oats\n    year: 2026\n    plans:\n    - {order: 1, operation: seeding, product: Oats, rate: 5 l/ha}\nproducts:\n- {name: Oats, kind: seed}\n", `8:59: fields[0].seasons[0].plans[0].rate: got 5 l/ha, want a mass or seeds per area for a seed`},
		{"a name twice", head + "fields:\n- name: Far Reach\n- name: far reach\n", `4:9: fields[1].name: got far reach, the name of fields[0], want a name of its own`},
		{"an id that is none", head + "fields:\n- {name: A, id: \"17\"}\n", `3:17: fields[0].id: got 17, want the 26 letters and digits`},
		{"an id twice", head + "fields:\n- {name: A, id: abcdefghijklmnopqrstuvwxya}\npeople:\n- {name: B, id: abcdefghijklmnopqrstuvwxya}\n", `5:17: people[0].id: got the id of fields[0], want each id once`},
		{"a blend of itself", head + "products:\n- {name: Mix, kind: blend, shares_by: mass, parts: [{product: Mix, share: 1}]}\n", `3:63: products[0].parts[0].product: got Mix, which has this blend among its parts`},
		{"blends in a circle", head + "products:\n- {name: One, kind: blend, shares_by: mass, parts: [{product: Two, share: 1}]}\n- {name: Two, kind: blend, shares_by: mass, parts: [{product: One, share: 1}]}\n", `4:63: products[1].parts[0].product: got One, which has this blend among its parts, want a product that does not`},
		{"a product twice in a blend", head + "products:\n- {name: Urea 46, kind: granular}\n- {name: Mix, kind: blend, shares_by: mass, parts: [{product: Urea 46, share: 1}, {product: urea 46, share: 2}]}\n", `4:93: products[1].parts[1].product: got a product a second time, want each product once`},
		{"a share of nothing", head + "products:\n- {name: Urea 46, kind: granular}\n- {name: Mix, kind: blend, shares_by: mass, parts: [{product: Urea 46, share: 0}]}\n", `4:79: products[1].parts[0].share: got 0, want a number above 0`},
		{"a boundary that crosses itself", head + "fields:\n- name: Bow\n  boundary: {type: Polygon, coordinates: [[[0, 53], [0.01, 53.01], [0.01, 53], [0, 53.01], [0, 53]]]}\n", `4:`},
		{"latitude first", head + "fields:\n- name: A\n  boundary: {type: Polygon, coordinates: [[[53, 200], [0.01, 53.01], [0.01, 53], [53, 200]]]}\n", `4:44: fields[0].boundary.coordinates[0][0]: got [53, 200], want WGS 84 degrees, longitude`},
		{"germination over all", head + "products:\n- {name: Oats, kind: seed, germination_pct: 195}\n", `3:45: products[0].germination_pct: got 195, want a number of per cent above 0, at most 100`},
		{"content", head + "products:\n- {name: X, kind: crop protection, substances: [{name: y, content: 5 kg/l}]}\n", `3:68: products[0].substances[0].content: got 5 kg/l, want a content above 0 such as 500 g/l`},
		{"dose", head + "products:\n- {name: X, kind: seed treatment, dose: 2 l}\n", `3:41: products[0].dose: got 2 l, want an amount above 0`},
		{"no axle", head + "implements:\n- {name: X, mount: towed, sections_m: [3]}\n", `3:3: implements[0].hitch_to_axle_m: got nothing, want the metres`},
		{"an implement without a name", head + "implements:\n- {sections_m: [3]}\n", `3:3: implements[0].name: got nothing, want the implement's name`},
		{"JSON: key", "{\"schema\": \"drawbar.catalog.1\",\n \"fields\": [\n  {\"name\": \"A\", \"aera\": 1}]}", `3:17: fields[0].aera: got an unknown key`},
		{"JSON: second item", "{\"schema\": \"drawbar.catalog.1\",\n \"fields\": [{\"name\": \"A\"},  {\"name\": 7}]}", `2:38: fields[1].name: got 7, want`},
		{"JSON: no object", "{\"schema\": \"drawbar.catalog.1\",\n \"fields\": [17]}", `2:13: fields[0]: got 17, want keys with values`},
		{"JSON: cut", "{\"schema\": \"drawbar.catalog.1\",\n \"fields\": [{\"name\": ", `2:22: got the end of the text, want JSON such as`},
		{"JSON: after it", "{\"schema\": \"drawbar.catalog.1\"} x", `1:33: got text`},
		{"JSON: a key twice", "{\"schema\": \"drawbar.catalog.1\", \"fields\": [{\"name\": \"A\", \"name\": \"B\"}]}", `1:58:`},
		{"a mark of nothing", head + "marks:\n- {left: \"2026-05-14T13:05:10Z\"}\n", `3:3: marks[0].kind: got nothing, want what it is, such as stone`},
		{"a mark without a time", head + "marks:\n- {kind: stone}\n", `3:3: marks[0].left: got nothing, want a time such as "2026-05-14T13:05:10Z"`},
		{"a mark at noon", head + "marks:\n- {kind: stone, left: noon}\n", `3:23: marks[0].left: got noon, want a time such as`},
		{"a mark in no field", head + "marks:\n- {kind: stone, left: \"2026-05-14T13:05:10Z\", field: Far Reach}\n", `3:54: marks[0].field: got Far Reach, want the name or the id of a field of the catalogue`},
		{"a mark in two fields", head + "fields:\n- name: A\nmarks:\n- {kind: stone, left: \"2026-05-14T13:05:10Z\", field: A, field_name: B}\n", `5:69: marks[0].field_name: got B beside a field, want one of the two`},
		{"a mark nowhere", head + "marks:\n- {kind: stone, left: \"2026-05-14T13:05:10Z\", at: [53.35, 190]}\n", `3:51: marks[0].at: got [53.35, 190], want WGS 84 degrees, longitude from -180 to 180 before latitude`},
		{"a mark at half a place", head + "marks:\n- {kind: stone, left: \"2026-05-14T13:05:10Z\", at: [53.35]}\n", `3:51: marks[0].at: got a list, want a place [longitude, latitude]`},
		{"a mark of no session", head + "marks:\n- {kind: stone, left: \"2026-05-14T13:05:10Z\", origin: somewhere}\n", `3:55: marks[0].origin: got somewhere, want a session and the number of a mark in it`},
		{"a mark twice", head + "marks:\n- {kind: stone, left: \"2026-05-14T13:05:10Z\", origin: \"a#1\"}\n- {kind: stone, left: \"2026-05-14T13:05:10Z\", origin: \"a#1\"}\n", `4:55: marks[1].origin: got a#1, that of another mark`},
		{"a mark done and never", head + "marks:\n- {kind: stone, left: \"2026-05-14T13:05:10Z\", done: true}\n", `3:3: marks[0].settled: got nothing, want a time such as`},
		{"no UTF-8", head + "people:\n- name: \"\xff\"\n", `3:10: got bytes that are no UTF-8, want text in UTF-8`},
	} {
		c := empty(t)
		_, err := c.Import(t.Context(), "farm.yaml", []byte(x.text), false)
		var faults *catalog.FileError
		if !errors.As(err, &faults) {
			t.Errorf("%s: got %v, want faults", x.name, err)
			continue
		}
		if first := faults.Faults[0].Error(); !strings.HasPrefix(first, x.want) {
			t.Errorf("%s: got\n  %s\nwant\n  %s\nof\n%s", x.name, first, x.want, x.text)
		}
		if got := exported(t, c, catalog.YAML); strings.Count(got, "[]") != 6 {
			t.Errorf("%s: something was imported:\n%s", x.name, got)
		}
	}
}

// All faults of a file are told at once, in its order, each on a line with its place.
func TestFaultsTogether(t *testing.T) {
	t.Parallel()
	const text = "schema: drawbar.catalog.1\nproducts:\n- {name: Oats, kind: sead}\nfields:\n- name: A\n  seasons:\n  - {crop: Oats, year: 1026}\n  - {crop: \"\", year: 2026}\n- name: \"B\n"
	_, err := empty(t).Import(t.Context(), "farm.yaml", []byte(text), false)
	if err == nil {
		t.Fatal("got no fault")
	}
	lines := strings.Split(err.Error(), "\n")
	for i, want := range []string{"farm.yaml:3:22: ", "farm.yaml:7:24: ", "farm.yaml:8:12: ", "farm.yaml:9:9: "} {
		if i >= len(lines) || !strings.HasPrefix(lines[i], want) {
			t.Fatalf("fault %d: got\n%s\nwant it to begin with %q", i, err, want)
		}
	}
	if len(lines) != 4 {
		t.Errorf("got %d faults, want 4:\n%s", len(lines), err)
	}
}

// An item that the catalogue has otherwise is told, and what to do.
func TestImportClash(t *testing.T) {
	t.Parallel()
	c := farm(t)
	changed := strings.Replace(exported(t, c, catalog.YAML), "lot: A 17", "lot: B 18", 1)
	_, err := c.Import(t.Context(), "farm.yaml", []byte(changed), false)
	if err == nil || !strings.Contains(err.Error(), "a product that the catalogue has with other values") || !strings.Contains(err.Error(), "--replace") {
		t.Errorf("changed: got %v", err)
	}
	_, err = c.Import(t.Context(), "more.yaml", []byte("schema: drawbar.catalog.1\npeople:\n- name: driver\n"), false)
	if err == nil || !strings.HasPrefix(err.Error(), "more.yaml:3:9: people[0].name: got driver, the name of another person, ") {
		t.Errorf("a name that is there: got %v", err)
	}
	// What is new may refer to what is there.
	const more = "schema: drawbar.catalog.1\nproducts:\n- {name: Half, kind: blend, shares_by: mass, parts: [{product: urea 46, share: 1}, {product: potash 60, share: 1}]}\n"
	n, err := c.Import(t.Context(), "more.yaml", []byte(more), false)
	if want := (catalog.Changes{Added: 1, Same: 20}); err != nil || n != want {
		t.Errorf("more: got %+v, %v, want %+v", n, err, want)
	}
}

// Other ways to write the same YAML.
func TestYAMLForms(t *testing.T) {
	t.Parallel()
	var want string
	for i, text := range []string{
		"schema: drawbar.catalog.1\npeople:\n- name: Driver\n  id: abcdefghijklmnopqrstuvwxya\n  note: \"- a\\n- b\\n\"\n",
		"\ufeff---\n# first\nschema: \"drawbar.catalog.1\" # it\n\npeople: # all\n\n   -\n     name: Driver\n     id: abcdefghijklmnopqrstuvwxya\n     note: |\n       - a\n       - b\n# last\n",
		"people: [{name: Driver, id: abcdefghijklmnopqrstuvwxya, note: \"- a\\n- b\\n\"}]\nfields:\nschema: 'drawbar.catalog.1'\n",
		"people:\r\n- name: Driver\r\n  id: abcdefghijklmnopqrstuvwxya\r\n  note: \"- a\\n- b\\n\"\r\nschema: drawbar.catalog.1\r\n",
		"people: [\n  {name: Driver,\n   id: abcdefghijklmnopqrstuvwxya, note: \"- a\\n- b\\n\"},\n]\nschema: drawbar.catalog.1",
		"{\"people\": [{\"name\": \"Driver\", \"id\": \"abcdefghijklmnopqrstuvwxya\", \"note\": \"- a\\n- b\\n\"}], \"fields\": null, \"schema\": \"drawbar.catalog.1\"}",
	} {
		c := empty(t)
		if _, err := c.Import(t.Context(), "farm.yaml", []byte(text), false); err != nil {
			t.Errorf("form %d: %v\n%s", i, err, text)
			continue
		}
		got := exported(t, c, catalog.YAML)
		if want == "" {
			want = got
		}
		if got != want {
			t.Errorf("form %d: got\n%s\nwant\n%s", i, got, want)
		}
	}
}
