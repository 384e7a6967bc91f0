package catalog_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/agronomy"
	"drawbar/internal/catalog"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
)

func empty(t testing.TB) *catalog.Catalog {
	t.Helper()
	c, err := catalog.Open(t.Context(), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := c.Close(); err != nil {
			t.Error(err)
		}
	})
	return c
}

// farm is a catalogue with testdata/kettle-hollow.yaml in it.
func farm(t testing.TB) *catalog.Catalog {
	t.Helper()
	c := empty(t)
	text, err := os.ReadFile("testdata/kettle-hollow.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := c.Import(t.Context(), "kettle-hollow.yaml", text, false); err != nil {
		t.Fatal(err)
	}
	return c
}

func exported(t testing.TB, c *catalog.Catalog, format catalog.Format) string {
	t.Helper()
	d, err := c.Export(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return encodedAs(t, d, format)
}

func encoded(t testing.TB, d catalog.Document) string { return encodedAs(t, d, catalog.YAML) }

func encodedAs(t testing.TB, d catalog.Document, format catalog.Format) string {
	t.Helper()
	var b bytes.Buffer
	if err := catalog.Encode(&b, d, format); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func square(lon, lat, side float64) orb.MultiPolygon {
	return orb.MultiPolygon{{{{lon, lat}, {lon + side, lat}, {lon + side, lat + side}, {lon, lat + side}, {lon, lat}}}}
}

// What a person wrote comes out whole, and goes back in as it came out.
func TestExportImportExport(t *testing.T) {
	t.Parallel()
	c := farm(t)
	for _, format := range []catalog.Format{catalog.YAML, catalog.JSON} {
		first := exported(t, c, format)
		again := empty(t)
		n, err := again.Import(t.Context(), "first", []byte(first), false)
		if err != nil {
			t.Fatalf("import of an export: %v\n%s", err, first)
		}
		if want := (catalog.Changes{Added: 20}); n != want {
			t.Errorf("import of an export: got %+v, want %+v", n, want)
		}
		if diff := cmp.Diff(first, exported(t, again, format)); diff != "" {
			t.Errorf("format %d: export, import, export differ (-first +second):\n%s", format, diff)
		}
		// A second time nothing changes, replace or not.
		for _, replace := range []bool{false, true} {
			n, err := again.Import(t.Context(), "first", []byte(first), replace)
			if want := (catalog.Changes{Same: 20}); err != nil || n != want {
				t.Errorf("import of the same, replace %v: got %+v, %v, want %+v", replace, n, err, want)
			}
		}
	}
}

func TestImportedValues(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	c := farm(t)
	f, err := c.Fields.Named(ctx, " mill piece")
	if err != nil {
		t.Fatal(err)
	}
	if f.Note != "Wet in the north corner.\n- no drill before April\n" {
		t.Errorf("note: got %q", f.Note)
	}
	// 0.006 by 0.004 degrees about 53.352 N, by the radii of curvature of the WGS 84
	// ellipsoid (NIMA TR8350.2) in its middle: M = a(1-e2)/w^3, N = a/w, w2 = 1-e2 sin2(lat).
	const a, e2, lat, deg = 6378137.0, 0.00669437999014, 53.352 * math.Pi / 180, math.Pi / 180
	w := math.Sqrt(1 - e2*math.Sin(lat)*math.Sin(lat))
	want := 0.004 * deg * a * (1 - e2) / (w * w * w) * 0.006 * deg * a / w * math.Cos(lat)
	if math.Abs(f.AreaM2/want-1) > 1e-6 {
		t.Errorf("area: got %v m2, want %v within 1 ppm", f.AreaM2, want)
	}
	seasons, err := c.Seasons.List(ctx, catalog.Which{Of: f.ID})
	if err != nil || len(seasons) != 1 {
		t.Fatalf("seasons: got %v, %v, want one", seasons, err)
	}
	if s := seasons[0]; s.TargetYield.SI != 0.65 || s.TargetYield.Dim != controller.DimMassPerArea || s.When() != "2026" {
		t.Errorf("season: got %+v, want 6.5 t/ha = 0.65 kg/m2 in 2026", s)
	}
	plans, err := c.Plans.List(ctx, catalog.Which{Of: seasons[0].ID})
	if err != nil || len(plans) != 3 || plans[2].Operation != "spraying" || plans[1].Rate.String() != "120 kg/ha" {
		t.Fatalf("plans: got %+v, %v, want three, the second 120 kg/ha, the third spraying", plans, err)
	}
	products, err := c.Products.List(ctx, catalog.Which{})
	if err != nil {
		t.Fatal(err)
	}
	book := catalog.NewBook(products)
	blend, err := c.Products.Named(ctx, "Starter blend")
	if err != nil {
		t.Fatal(err)
	}
	// By hand: 100 kg 46-0-0, 100 kg 11-52-0, 50 kg 0-0-60 make 22.8-20.8-12.
	if diff := cmp.Diff(agronomy.Analysis{NPct: 22.8, P2O5Pct: 20.8, K2OPct: 12}, book.Of(blend.ID).Analysis, approx()); diff != "" || !book.Of(blend.ID).HasAnalysis {
		t.Errorf("analysis of the blend (-want +got):\n%s", diff)
	}
	n, ok := book.Nutrients(blend.ID, plans[1].Rate)
	if diff := cmp.Diff(agronomy.Nutrients{NKgPerM2: 0.002736, P2O5KgPerM2: 0.002496, K2OKgPerM2: 0.00144}, n, approx()); diff != "" || !ok {
		t.Errorf("nutrients of 120 kg/ha (-want +got):\n%s", diff)
	}
	guard, err := c.Products.Named(ctx, "rust guard")
	if err != nil {
		t.Fatal(err)
	}
	wantGuard := catalog.Product{
		Meta: guard.Meta, Name: "Rust guard", Kind: catalog.CropProtection, Registration: "KH 00417",
		Has:        catalog.HasMaxApplications | catalog.HasReentry | catalog.HasPreHarvest,
		Substances: []catalog.Substance{{Name: "examplazole", Content: 250, Per: catalog.GramsPerLitre}},
		MaxRate:    rate(t, "1 l/ha"), MaxApplications: 2, ReentryH: 24, PreHarvestDays: 35,
	}
	if diff := cmp.Diff(wantGuard, guard); diff != "" {
		t.Errorf("crop protection (-want +got):\n%s", diff)
	}
	drills, err := c.Implements.List(ctx, catalog.Which{})
	if err != nil || len(drills) != 1 {
		t.Fatalf("implements: got %v, %v", drills, err)
	}
	tractors, err := c.Tractors.List(ctx, catalog.Which{})
	if err != nil || len(tractors) != 1 {
		t.Fatalf("tractors: got %v, %v", tractors, err)
	}
	pulled := tractors[0].Pull(drills[0].Implement)
	if pulled.Mount != coverage.MountTowed || pulled.AntennaToHitchM != 1.8 || pulled.WidthM() != 12 {
		t.Errorf("towed: got %+v, want the drawbar's 1.8 m", pulled)
	}
	rigid := drills[0].Implement
	rigid.Mount = coverage.MountRigid
	if got := tractors[0].Pull(rigid).AntennaToHitchM; got != 1.2 {
		t.Errorf("rigid: got %v m to the hitch, want the linkage's 1.2", got)
	}
}

func approx() cmp.Option {
	return cmp.Comparer(func(a, b float64) bool { return a-b < 1e-12 && b-a < 1e-12 })
}

func rate(t testing.TB, s string) catalog.Rate {
	t.Helper()
	r, err := catalog.ParseRate(s)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// A change on top of a state that another has changed meanwhile is refused.
func TestStaleRevision(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	c := empty(t)
	f, err := c.Fields.Add(ctx, catalog.Field{Name: "Mill Piece"})
	if err != nil || f.Revision != 1 || !f.ID.Valid() {
		t.Fatalf("add: got %+v, %v, want revision 1 and an id", f, err)
	}
	mine, other := f, f
	other.Note = "other"
	if other, err = c.Fields.Update(ctx, other); err != nil || other.Revision != 2 {
		t.Fatalf("update: got %+v, %v, want revision 2", other, err)
	}
	mine.Note = "mine"
	_, err = c.Fields.Update(ctx, mine)
	var conflict *catalog.ConflictError
	if !errors.Is(err, catalog.ErrConflict) || !errors.As(err, &conflict) || conflict.Stated != 1 || conflict.Current != 2 {
		t.Errorf("stale update: got %v, want a conflict of 1 with 2", err)
	}
	if _, err := c.Fields.Remove(ctx, f.ID, 1); !errors.Is(err, catalog.ErrConflict) {
		t.Errorf("stale remove: got %v, want a conflict", err)
	}
	if got, err := c.Fields.Get(ctx, f.ID); err != nil || got.Note != "other" {
		t.Errorf("after that: got %+v, %v, want the other's note", got, err)
	}
	if _, err := c.Fields.Update(ctx, catalog.Field{Meta: catalog.Meta{ID: catalog.NewID(), Revision: 1}, Name: "x"}); !errors.Is(err, catalog.ErrNotFound) {
		t.Errorf("update of nothing: got %v, want not found", err)
	}
}

// What is referred to is archived, anything else is removed, and no id comes back.
func TestRemove(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	c := farm(t)
	for _, x := range []struct {
		name string
		want catalog.Removed
	}{
		{"Firth oats", catalog.Archived}, {"Urea 46", catalog.Archived}, {"Rust guard", catalog.Archived}, {"Oat coat", catalog.Deleted}, {"Solution 28", catalog.Deleted},
	} {
		p, err := c.Products.Named(ctx, x.name)
		if err != nil {
			t.Fatal(err)
		}
		did, err := c.Products.Remove(ctx, p.ID, p.Revision)
		if err != nil || did != x.want {
			t.Errorf("remove %s: got %v, %v, want %v", x.name, did, err, x.want)
		}
		got, err := c.Products.Get(ctx, p.ID)
		if x.want == catalog.Archived && (err != nil || !got.Archived || got.Revision != p.Revision+1) {
			t.Errorf("archived %s: got %+v, %v", x.name, got, err)
		}
		if x.want == catalog.Deleted && !errors.Is(err, catalog.ErrNotFound) {
			t.Errorf("removed %s: got %v, want not found", x.name, err)
		}
		if _, err := c.Products.Add(ctx, p); !errors.Is(err, catalog.ErrInvalid) {
			t.Errorf("%s again under its old id: got %v, want it refused", x.name, err)
		}
		p.ID = ""
		if _, err := c.Products.Add(ctx, p); err != nil {
			t.Errorf("%s again under its name: %v", x.name, err)
		}
		if x.want == catalog.Archived {
			if _, err := c.Products.Archive(ctx, got.ID, got.Revision, false); !errors.Is(err, catalog.ErrInvalid) {
				t.Errorf("the archived %s beside a new one of the name: got %v, want it refused", x.name, err)
			}
		}
	}
	// With two of a name, of which one is archived, the export tells them apart.
	text := exported(t, c, catalog.YAML)
	again := empty(t)
	if _, err := again.Import(ctx, "export", []byte(text), false); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(text, exported(t, again, catalog.YAML)); diff != "" {
		t.Errorf("(-first +second):\n%s", diff)
	}
}

func TestInvalid(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	c := farm(t)
	mill, _ := c.Fields.Named(ctx, "Mill Piece")
	oats, _ := c.Products.Named(ctx, "Firth oats")
	urea, _ := c.Products.Named(ctx, "Urea 46")
	blend, _ := c.Products.Named(ctx, "Starter blend")
	seasons, _ := c.Seasons.List(ctx, catalog.Which{Of: mill.ID})
	bow := orb.MultiPolygon{{{{0, 53}, {0.01, 53.01}, {0.01, 53}, {0, 53.01}, {0, 53}}}}
	for _, x := range []struct {
		name, want string
		err        error
	}{
		{"no name", "name: got nothing", second(c.Fields.Add(ctx, catalog.Field{}))},
		{"a name twice", "name: got mill piece, the name of another field", second(c.Fields.Add(ctx, catalog.Field{Name: "mill piece"}))},
		{"a boundary that crosses itself", "boundary", second(c.Fields.Add(ctx, catalog.Field{Name: "Bow", Outline: bow}))},
		{"a season of nothing", "field: got nothing", second(c.Seasons.Add(ctx, catalog.Season{Crop: "Oats", Year: 2026}))},
		{"a season of no field", "want the id of a field", second(c.Seasons.Add(ctx, catalog.Season{Field: catalog.NewID(), Crop: "Oats", Year: 2026}))},
		{"a day that is none", "start: got 2026-02-30", second(c.Seasons.Add(ctx, catalog.Season{Field: mill.ID, Crop: "Oats", Start: "2026-02-30"}))},
		{"the last day first", "end: got 2026-01-01", second(c.Seasons.Add(ctx, catalog.Season{Field: mill.ID, Crop: "Oats", Start: "2026-02-01", End: "2026-01-01"}))},
		{"a yield in seeds", "target_yield", second(c.Seasons.Add(ctx, catalog.Season{Field: mill.ID, Crop: "Oats", Year: 2026, TargetYield: rate(t, "300 seeds/m2")}))},
		{"litres of seed", "rate: got 5 l/ha", second(c.Plans.Add(ctx, catalog.Plan{Season: seasons[0].ID, Order: 1, Operation: "seeding", Product: oats.ID, Rate: rate(t, "5 l/ha")}))},
		{"no sections", "sections_m", second(c.Implements.Add(ctx, catalog.Implement{Implement: coverage.Implement{Name: "Bare"}}))},
		{"an analysis of seed", "analysis", second(c.Products.Add(ctx, catalog.Product{Name: "Odd", Kind: catalog.Seed, Has: catalog.HasAnalysis}))},
		{"more than all", "analysis: got 110 % in all", second(c.Products.Add(ctx, catalog.Product{Name: "Odd", Kind: catalog.Granular, Has: catalog.HasAnalysis, Analysis: agronomy.Analysis{NPct: 60, P2O5Pct: 50}}))},
		{"a treatment on no seed", "rides_on: got Urea 46", second(c.Products.Add(ctx, catalog.Product{Name: "Odd", Kind: catalog.SeedTreatment, RidesOn: urea.ID}))},
		{"a blend of nothing", "parts: got 0 parts", second(c.Products.Add(ctx, catalog.Product{Name: "Odd", Kind: catalog.Blend}))},
		{"a blend in itself", "parts: got a blend that is among", circle(ctx, c, blend)},
		{"a kind that its plan does not fit", "kind", second(c.Products.Update(ctx, kind(oats, catalog.Liquid)))},
		{"a seed that something rides on", "kind: got blend", second(c.Products.Update(ctx, kindParts(oats, urea.ID)))},
	} {
		var invalid *catalog.InvalidError
		if !errors.Is(x.err, catalog.ErrInvalid) || !errors.As(x.err, &invalid) || !strings.Contains(x.err.Error(), x.want) {
			t.Errorf("%s: got %v, want invalid with %q", x.name, x.err, x.want)
		}
	}
}

func second[T any](_ T, err error) error { return err }

func kind(p catalog.Product, k catalog.ProductKind) catalog.Product {
	p.Kind, p.ThousandKernelG, p.GerminationPct = k, 0, 0
	return p
}

func kindParts(p catalog.Product, part catalog.ID) catalog.Product {
	p = kind(p, catalog.Blend)
	p.Lot, p.Parts = "", []catalog.Part{{Product: part, Share: 1}}
	return p
}

// circle makes a blend of blend, and then has blend contain it.
func circle(ctx context.Context, c *catalog.Catalog, blend catalog.Product) error {
	outer, err := c.Products.Add(ctx, catalog.Product{Name: "Outer", Kind: catalog.Blend, Parts: []catalog.Part{{Product: blend.ID, Share: 1}}})
	if err != nil {
		return err
	}
	self := outer
	self.Parts = []catalog.Part{{Product: outer.ID, Share: 1}}
	if _, err := c.Products.Update(ctx, self); !errors.Is(err, catalog.ErrInvalid) || !strings.Contains(err.Error(), "parts[0].product") {
		return fmt.Errorf("a blend of itself: got %v, want it refused", err)
	}
	blend.Parts = []catalog.Part{{Product: outer.ID, Share: 1}}
	_, err = c.Products.Update(ctx, blend)
	return err
}

// With replace the catalogue is what the file says; ids and revisions go on.
func TestReplace(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	c := farm(t)
	was, _ := c.Fields.Named(ctx, "Mill Piece")
	oats, _ := c.Products.Named(ctx, "Firth oats")
	first := exported(t, c, catalog.YAML)
	const small = "schema: drawbar.catalog.1\nfields:\n- name: mill piece\n  note: new\nproducts:\n- {name: Firth oats, kind: seed}\n"
	n, err := c.Import(ctx, "small.yaml", []byte(small), true)
	if want := (catalog.Changes{Changed: 2, Removed: 18}); err != nil || n != want {
		t.Fatalf("replace: got %+v, %v, want %+v", n, err, want)
	}
	now, err := c.Fields.Get(ctx, was.ID)
	if err != nil || now.Note != "new" || now.Revision != was.Revision+1 || now.Outline != nil {
		t.Errorf("the field of the same name: got %+v, %v, want it changed in place", now, err)
	}
	if n, err := c.Import(ctx, "first.yaml", []byte(first), true); err != nil || n.Added != 18 || n.Changed != 2 {
		t.Fatalf("back: got %+v, %v", n, err)
	}
	if diff := cmp.Diff(first, exported(t, c, catalog.YAML)); diff != "" {
		t.Errorf("back (-want +got):\n%s", diff)
	}
	if p, err := c.Products.Get(ctx, oats.ID); err != nil || p.Revision != oats.Revision+2 {
		t.Errorf("the seed: got %+v, %v, want it at revision %d", p.Meta, err, oats.Revision+2)
	}
	// A person that came back is not mistaken for the one that a reader saw before.
	people, _ := c.People.List(ctx, catalog.Which{})
	for _, w := range people {
		if w.Revision != 2 {
			t.Errorf("%s: got revision %d, want 2", w.Name, w.Revision)
		}
	}
}

// A fault anywhere, and nothing is done.
func TestImportAllOrNothing(t *testing.T) {
	t.Parallel()
	c := farm(t)
	before := exported(t, c, catalog.YAML)
	text := strings.Replace(before, "rate: 0.75 l/ha", "rate: 0.75 furlongs", 1)
	text = strings.Replace(text, "- name: Far Reach", "- name: Farther Reach", 1)
	for _, replace := range []bool{false, true} {
		_, err := c.Import(t.Context(), "x.yaml", []byte(text), replace)
		var faults *catalog.FileError
		if !errors.As(err, &faults) || len(faults.Faults) != 1 {
			t.Fatalf("got %v, want one fault", err)
		}
	}
	if diff := cmp.Diff(before, exported(t, c, catalog.YAML)); diff != "" {
		t.Errorf("(-before +after):\n%s", diff)
	}
}

func TestOpen(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	dir := t.TempDir()
	if _, err := catalog.OpenExisting(ctx, dir); !errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), "add-fields") {
		t.Errorf("nothing there: got %v", err)
	}
	path := filepath.Join(dir, catalog.FileName)
	if err := os.WriteFile(path, []byte("Far Reach, 20 ha\n"+strings.Repeat("x", 5000)), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := catalog.Open(ctx, dir); err == nil || !strings.Contains(err.Error(), path) {
		t.Errorf("a text: got %v, want an error with its path", err)
	}
	// Names that mean something in the address of a database.
	odd := filepath.Join(t.TempDir(), "a b%20?mode=memory#c")
	c, err := catalog.Open(ctx, odd)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := c.Fields.Add(ctx, catalog.Field{Name: "Long Meadow", Outline: square(0, 53.35, 0.01)}); err != nil {
		t.Fatal(err)
	}
	if err := c.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(odd, catalog.FileName)); err != nil {
		t.Error(err)
	}
	c, err = catalog.OpenExisting(ctx, odd)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	if f, err := c.Fields.Named(ctx, "Long Meadow"); err != nil || f.AreaM2 < 700_000 || f.AreaM2 > 800_000 {
		t.Errorf("read again: got %+v, %v", f, err)
	}
}
