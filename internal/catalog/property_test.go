package catalog_test

import (
	"fmt"
	"strings"
	"testing"

	"drawbar/coverage"
	"drawbar/internal/agronomy"
	"drawbar/internal/catalog"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

// anyText is a text of a line as hard on a writer as texts get.
func anyText() *rapid.Generator[string] {
	return rapid.OneOf(
		rapid.StringMatching(`[A-Za-z][A-Za-z0-9 ]{0,12}[a-z]`),
		rapid.StringMatching(`[ -~]{0,12}[!-~]`),
		rapid.StringOfN(rapid.RuneFrom([]rune("-?:#&*!|>%@'\"`{}[],~=<\\/ aé€𝔸\u2028\u00a0\u200b\ufeff\U000e0001")), 1, 12, -1).Filter(func(s string) bool { return strings.TrimSpace(s) != "" }),
		rapid.SampledFrom([]string{"true", "null", "~", "12", "0x1F", "1e3", "1_000", ".5", "2026-03-01", "- a", "a: b", "a #b", "key: [", "yes", "<<", ".inf", "012", "+1", "12:30:45", "=", "---", "..."}),
	)
}

func anyNote() *rapid.Generator[string] {
	return rapid.OneOf(rapid.Just(""), anyText(), rapid.StringOfN(rapid.RuneFrom([]rune("ab \n\r\t-:#\"")), 0, 20, -1))
}

func anyNumber(lo, hi float64) *rapid.Generator[float64] {
	return rapid.OneOf(rapid.Float64Range(lo, hi), rapid.Map(rapid.IntRange(0, 1000), func(i int) float64 { return lo + (hi-lo)*float64(i)/1000 }))
}

func anyRate(units ...string) *rapid.Generator[catalog.Rate] {
	return rapid.Custom(func(t *rapid.T) catalog.Rate {
		s := fmt.Sprintf("%v %s", anyNumber(0.0001, 500).Draw(t, "rate"), rapid.SampledFrom(units).Draw(t, "unit"))
		r, err := catalog.ParseRate(s)
		if err != nil { // an exponent, say
			r, _ = catalog.ParseRate("1 " + units[0])
		}
		return r
	})
}

// anyPrice is a price that a product of the kind may have, or none.
func anyPrice(kind catalog.ProductKind) *rapid.Generator[catalog.Price] {
	return rapid.Custom(func(t *rapid.T) catalog.Price {
		units := []string{"t", "kg", "lb", "100 kg"}
		switch kind {
		case catalog.Seed:
			units = append(units, "50000 seeds", "0.5 seeds")
		default:
			units = append(units, "l", "1000 l", "gal")
		}
		p, err := catalog.ParsePrice(fmt.Sprintf("%v EUR/%s", anyNumber(0, 900).Draw(t, "money"), rapid.SampledFrom(units).Draw(t, "for")))
		if err != nil { // an exponent, say
			return catalog.Price{}
		}
		return p
	})
}

// anyDocument is a random catalogue, in no order.
func anyDocument(t *rapid.T) (d catalog.Document) {
	meta := func() catalog.Meta {
		return catalog.Meta{ID: catalog.NewID(), Archived: rapid.IntRange(0, 4).Draw(t, "archived") == 0}
	}
	names := map[string]bool{}
	name := func() string {
		for {
			s := anyText().Draw(t, "name")
			if key := strings.ToLower(strings.TrimSpace(s)); !names[key] {
				names[key] = true
				return s
			}
		}
	}
	add := func(p catalog.Product) {
		p.Meta, p.Name, p.Note = meta(), name(), anyNote().Draw(t, "note")
		p.Price = anyPrice(p.Kind).Draw(t, "price")
		d.Products = append(d.Products, p)
	}
	seed := catalog.Product{Kind: catalog.Seed, ThousandKernelG: anyNumber(0.1, 2000).Draw(t, "tkw"), Lot: rapid.OneOf(rapid.Just(""), anyText()).Draw(t, "lot")}
	add(seed)
	add(catalog.Product{Kind: catalog.SeedTreatment, RidesOn: d.Products[0].ID, Dose: catalog.Dose{Amount: anyNumber(0.001, 100).Draw(t, "dose"), Unit: catalog.DoseUnit(rapid.IntRange(0, 1).Draw(t, "unit"))}})
	add(catalog.Product{Kind: catalog.Granular, Has: catalog.HasAnalysis, Analysis: agronomy.Analysis{NPct: anyNumber(0, 50).Draw(t, "n"), SPct: anyNumber(0, 50).Draw(t, "s")}})
	add(catalog.Product{Kind: catalog.Liquid, DensityKgPerL: anyNumber(0.5, 2).Draw(t, "density")})
	protection := catalog.Product{
		Kind: catalog.CropProtection, Registration: rapid.OneOf(rapid.Just(""), anyText()).Draw(t, "registration"), MaxRate: anyRate("l/ha", "kg/ha", "floz/ac").Draw(t, "max"),
		Has: catalog.ProductHas(rapid.IntRange(0, 7).Draw(t, "has")) << 1, MaxApplications: 2, ReentryH: anyNumber(0, 100).Draw(t, "reentry"), PreHarvestDays: rapid.IntRange(0, 90).Draw(t, "days"),
	}
	for range rapid.IntRange(0, 2).Draw(t, "substances") {
		protection.Substances = append(protection.Substances, catalog.Substance{Name: anyText().Draw(t, "substance"), Content: anyNumber(0.01, 100).Draw(t, "content"), Per: catalog.ContentUnit(rapid.IntRange(0, 2).Draw(t, "per"))})
	}
	add(protection)
	for range rapid.IntRange(0, 3).Draw(t, "blends") {
		b := catalog.Product{Kind: catalog.Blend, ByVolume: rapid.Bool().Draw(t, "by volume")}
		for i, p := range d.Products {
			if i == len(d.Products)-1 || rapid.Bool().Draw(t, "in it") {
				b.Parts = append(b.Parts, catalog.Part{Product: p.ID, Share: anyNumber(0.01, 1000).Draw(t, "share")})
			}
		}
		add(b)
	}
	for range rapid.IntRange(0, 3).Draw(t, "fields") {
		f := catalog.Field{Meta: meta(), Name: name(), Note: anyNote().Draw(t, "note")}
		if rapid.Bool().Draw(t, "outline") {
			lon, lat := anyNumber(-170, 170).Draw(t, "lon"), anyNumber(-70, 70).Draw(t, "lat")
			f.Outline = square(lon, lat, anyNumber(0.001, 0.01).Draw(t, "side"))
			if rapid.Bool().Draw(t, "two parts") {
				f.Outline = append(f.Outline, square(lon+0.02, lat, 0.01)...)
				f.Outline[0] = append(f.Outline[0], orb.Ring{{lon + 0.0002, lat + 0.0002}, {lon + 0.0002, lat + 0.0004}, {lon + 0.0004, lat + 0.0004}})
			}
		}
		d.Fields = append(d.Fields, f)
		for range rapid.IntRange(0, 3).Draw(t, "seasons") {
			s := catalog.Season{Meta: meta(), Field: f.ID, Crop: anyText().Draw(t, "crop"), Note: anyNote().Draw(t, "note")}
			if rapid.Bool().Draw(t, "by year") {
				s.Year = rapid.IntRange(2000, 2030).Draw(t, "year")
			} else {
				s.Start = "2025-09-20"
				s.End = rapid.SampledFrom([]catalog.Date{"", "2025-09-20", "2026-08-01"}).Draw(t, "end")
			}
			s.CropCode = rapid.SampledFrom([]string{"", "AVESA", "3CERC", "123456"}).Draw(t, "code")
			if rapid.Bool().Draw(t, "yield") {
				s.TargetYield = anyRate("t/ha", "kg/ha", "lb/ac").Draw(t, "yield")
			}
			d.Seasons = append(d.Seasons, s)
			for range rapid.IntRange(0, 3).Draw(t, "plans") {
				p := rapid.SampledFrom(d.Products).Draw(t, "product")
				r := anyRate("kg/ha", "lb/ac").Draw(t, "rate")
				if p.Kind == catalog.Liquid {
					r = anyRate("l/ha", "gal/ac").Draw(t, "rate")
				}
				d.Plans = append(d.Plans, catalog.Plan{Meta: meta(), Season: s.ID, Order: rapid.IntRange(1, 3).Draw(t, "order"), Operation: anyText().Draw(t, "operation"), Product: p.ID, Rate: r, Tank: rapid.IntRange(0, 2).Draw(t, "tank"), Note: anyNote().Draw(t, "note")})
			}
		}
	}
	d.Implements = append(d.Implements, catalog.Implement{Meta: meta(), Note: anyNote().Draw(t, "note"), Implement: coverage.Implement{Name: name(), Mount: coverage.MountTowed, SectionsM: []float64{anyNumber(0.1, 20).Draw(t, "section"), 3}, HitchToAxleM: anyNumber(0.1, 10).Draw(t, "axle"), AntennaRightM: anyNumber(-2, 2).Draw(t, "right")}})
	d.Tractors = append(d.Tractors, catalog.Tractor{Meta: meta(), Name: name(), AntennaToHitchM: anyNumber(-2, 4).Draw(t, "hitch"), HasLinkage: rapid.Bool().Draw(t, "linkage"), AntennaToLinkageM: 1})
	d.People = append(d.People, catalog.Person{Meta: meta(), Name: name(), Licence: rapid.OneOf(rapid.Just(""), anyText()).Draw(t, "licence")})
	addMarks(t, &d, meta)
	// Archived ones may share their names, with one another and with one in use.
	for _, p := range d.Products {
		if p.Archived && rapid.Bool().Draw(t, "again") {
			p.ID, p.Archived = catalog.NewID(), rapid.Bool().Draw(t, "archived too")
			if p.Archived || !inUse(d, p.Name) {
				d.Products = append(d.Products, p)
			}
		}
	}
	return d
}

func inUse(d catalog.Document, name string) bool {
	for _, p := range d.Products {
		if !p.Archived && strings.EqualFold(strings.TrimSpace(p.Name), strings.TrimSpace(name)) {
			return true
		}
	}
	return false
}

// Any catalogue comes back from its file as it was, byte by byte, in both formats,
// and a file of one format gives the other.
func TestAnyCatalogueComesBack(t *testing.T) {
	t.Parallel()
	c, again := empty(t), empty(t)
	rapid.Check(t, func(rt *rapid.T) {
		d := anyDocument(rt) // in the place of what was there
		if n, err := c.Import(rt.Context(), "any", []byte(encoded(t, d)), true); err != nil {
			rt.Fatalf("import: %v\n%s", err, encoded(t, d))
		} else if want := len(d.Fields) + len(d.Seasons) + len(d.Plans) + len(d.Products) + len(d.Marks) + 3; n.Added != want {
			rt.Fatalf("got %+v, want %d added", n, want)
		}
		text := map[catalog.Format]string{catalog.YAML: exported(t, c, catalog.YAML), catalog.JSON: exported(t, c, catalog.JSON)}
		for _, format := range []catalog.Format{catalog.YAML, catalog.JSON} {
			if _, err := again.Import(rt.Context(), "none", []byte("schema: "+catalog.Schema), true); err != nil {
				rt.Fatal(err)
			}
			if _, err := again.Import(rt.Context(), "export", []byte(text[format]), false); err != nil {
				rt.Fatalf("import: %v\n%s", err, text[format])
			}
			for _, as := range []catalog.Format{catalog.YAML, catalog.JSON} {
				if diff := cmp.Diff(text[as], exported(t, again, as)); diff != "" {
					rt.Fatalf("(-first +second):\n%s", diff)
				}
			}
		}
	})
}
