package catalog_test

import (
	"os"
	"testing"

	"drawbar/internal/catalog"

	"github.com/google/go-cmp/cmp"
)

// FuzzImport: any text is refused with faults, or gives a catalogue that comes back
// from both of its files, and out of the database, byte by byte.
func FuzzImport(f *testing.F) {
	text, err := os.ReadFile("testdata/kettle-hollow.yaml")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text)
	d, err := catalog.Decode("seed", text)
	if err != nil {
		f.Fatal(err)
	}
	f.Add([]byte(encodedAs(f, d, catalog.JSON)))
	for _, s := range []string{
		"", "{", "[]", "schema: drawbar.catalog.1", "schema: drawbar.catalog.1\nfields:\n- name: A\n  - b\n", "fields: |\n  - a\n - b\n",
		"schema: drawbar.catalog.1\npeople:\n- {name: \"\\u0085\\u2028\"}\n- {name: '- x'}\n", "---\nschema: drawbar.catalog.1\nproducts: [{name: A, kind: blend, shares_by: volume, parts: [{product: A, share: 1}]}]\n",
		`{"schema":"drawbar.catalog.1","people":[{"name":"\ud83d"}],"fields":[{"name":"A","seasons":[{"crop":"x","year":2026,"target_yield":"1e-300 t/ha"}]}]}`,
	} {
		f.Add([]byte(s))
	}
	c := empty(f)
	f.Fuzz(func(t *testing.T, text []byte) {
		d, err := catalog.Decode("text", text)
		if err != nil {
			return
		}
		first := encodedAs(t, d, catalog.YAML)
		for _, format := range []catalog.Format{catalog.YAML, catalog.JSON} {
			file := encodedAs(t, d, format)
			again, err := catalog.Decode("again", []byte(file))
			if err != nil {
				t.Fatalf("its own file: %v\n%s\nof %q", err, file, text)
			}
			if diff := cmp.Diff(first, encodedAs(t, again, catalog.YAML)); diff != "" {
				t.Fatalf("(-first +second):\n%s", diff)
			}
		}
		if _, err := c.Import(t.Context(), "none", []byte("schema: drawbar.catalog.1"), true); err != nil {
			t.Fatal(err)
		}
		if _, err := c.Import(t.Context(), "file", []byte(first), false); err != nil {
			t.Fatalf("import: %v\n%s", err, first)
		}
		stored := exported(t, c, catalog.JSON)
		if _, err := c.Import(t.Context(), "file", []byte(stored), true); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(stored, exported(t, c, catalog.JSON)); diff != "" {
			t.Fatalf("(-stored +again):\n%s", diff)
		}
	})
}
