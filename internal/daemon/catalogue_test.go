package daemon_test

import (
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"drawbar/internal/catalog"
	"drawbar/internal/sim/simdir"

	"github.com/paulmach/orb"
)

func (b *bench) farm() *catalog.Catalog {
	b.t.Helper()
	return openFarm(b.t, b.dir)
}

// openFarm opens the catalogue of a daemon as another program does.
func openFarm(t *testing.T, dir string) *catalog.Catalog {
	t.Helper()
	c, err := catalog.Open(t.Context(), filepath.Join(dir, "data"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	return c
}

func (b *bench) knows() (names []string) {
	b.t.Helper()
	var got struct {
		Fields []struct {
			Name   string
			AreaM2 *float64 `json:"area_m2"`
		}
	}
	if code := b.get("/api/fields", &got); code != http.StatusOK {
		b.t.Fatalf("fields: status %d", code)
	}
	for _, f := range got.Fields {
		names = append(names, f.Name)
	}
	slices.Sort(names)
	return names
}

func ring(lon, lat, side float64) orb.MultiPolygon {
	return orb.MultiPolygon{{{{lon, lat}, {lon + side, lat}, {lon + side, lat + side}, {lon, lat + side}, {lon, lat}}}}
}

// The fields of the catalogue that have an outline are known beside those of the
// configuration, which counts where both have a name.
func TestCatalogueFieldsAreKnown(t *testing.T) {
	t.Parallel()
	sc := job()
	sc.Field.Name = "Mill Piece"
	b := startWith(t, sc, nil, func(dir string) []byte {
		if err := os.WriteFile(filepath.Join(dir, "fields.geojson"), append(simdir.Boundaries(sc.Field), '\n'), 0o600); err != nil {
			t.Fatal(err)
		}
		farm := openFarm(t, dir)
		for _, f := range []catalog.Field{
			{Name: "mill piece", Outline: ring(0.5, 53, 0.01)}, {Name: "Long Meadow", Outline: ring(0.1, 53, 0.01)}, {Name: "No Outline"},
		} {
			if _, err := farm.Fields.Add(t.Context(), f); err != nil {
				t.Fatal(err)
			}
		}
		return []byte("fields: fields.geojson\n")
	})
	if got := b.knows(); !slices.Equal(got, []string{"Long Meadow", "Mill Piece"}) {
		t.Errorf("known: %q", got)
	}
}

// What another program changes in the catalogue is known to the running daemon
// without a restart: added, given an outline, renamed, archived.
func TestCatalogueChangesAreSeen(t *testing.T) {
	t.Parallel()
	b := start(t, job(), nil)
	farm := b.farm()
	known := func(what string, want ...string) {
		t.Helper()
		var got []string
		b.waitFor(what, func() bool { got = b.knows(); return slices.Equal(got, want) })
	}
	known("nothing at first")
	f, err := farm.Fields.Add(t.Context(), catalog.Field{Name: "Far Reach"})
	if err != nil {
		t.Fatal(err)
	}
	f.Outline = ring(0.2, 53.3, 0.005)
	if f, err = farm.Fields.Update(t.Context(), f); err != nil {
		t.Fatal(err)
	}
	known("the outline", "Far Reach")
	if code := b.post("/api/fields/accept", `{"field":"Far Reach"}`, nil); code != http.StatusOK {
		t.Errorf("accept: status %d", code)
	}
	f.Name = "Farther Reach"
	if f, err = farm.Fields.Update(t.Context(), f); err != nil {
		t.Fatal(err)
	}
	known("the new name", "Farther Reach")
	if _, err = farm.Fields.Archive(t.Context(), f.ID, f.Revision, true); err != nil {
		t.Fatal(err)
	}
	known("it is gone")
}

// A catalogue that cannot be opened keeps nothing from being recorded.
func TestWithoutCatalogue(t *testing.T) {
	t.Parallel()
	b := startWith(t, job(), nil, func(dir string) []byte {
		data := filepath.Join(dir, "data")
		if err := os.MkdirAll(data, 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(data, catalog.FileName), []byte(strings.Repeat("this is no database\n", 300)), 0o600); err != nil {
			t.Fatal(err)
		}
		return nil
	})
	if code := b.say(`{"note":"recorded all the same"}`); code != http.StatusOK {
		t.Errorf("say: status %d", code)
	}
	if !strings.Contains(b.log.String(), "there is no catalogue in this run") {
		t.Errorf("the log: %s", b.log)
	}
}
