package catalog_test

import (
	"fmt"
	"math"
	"testing"

	"drawbar/internal/catalog"

	"github.com/paulmach/orb"
)

// large is a farm of 1,000 fields of 100 corners with 20 seasons each, two plans in
// the last of these.
func large(b testing.TB) (c *catalog.Catalog, fields []catalog.Field) {
	b.Helper()
	c = empty(b)
	d := catalog.Document{Products: []catalog.Product{{Meta: catalog.Meta{ID: catalog.NewID()}, Name: "Firth oats", Kind: catalog.Seed}}}
	for i := range 1000 {
		ring := make(orb.Ring, 101)
		lon, lat := float64(i%40)*0.01-0.2, 53+float64(i/40)*0.01
		for k := range ring {
			a := 2 * math.Pi * float64(k%100) / 100
			ring[k] = orb.Point{lon + 0.004*math.Cos(a), lat + 0.003*math.Sin(a)}
		}
		f := catalog.Field{Meta: catalog.Meta{ID: catalog.NewID()}, Name: fmt.Sprintf("Far Reach %03d", i), Outline: orb.MultiPolygon{{ring}}}
		d.Fields = append(d.Fields, f)
		for year := 2007; year < 2027; year++ {
			d.Seasons = append(d.Seasons, catalog.Season{Meta: catalog.Meta{ID: catalog.NewID()}, Field: f.ID, Crop: "Spring oats", Year: year})
		}
		season := d.Seasons[len(d.Seasons)-1].ID
		for order := range 2 {
			d.Plans = append(d.Plans, catalog.Plan{Meta: catalog.Meta{ID: catalog.NewID()}, Season: season, Order: order + 1, Operation: "seeding", Product: d.Products[0].ID, Rate: rate(b, "180 kg/ha")})
		}
	}
	text := encoded(b, d)
	if _, err := c.Import(b.Context(), "large", []byte(text), false); err != nil {
		b.Fatal(err)
	}
	fields, err := c.Fields.List(b.Context(), catalog.Which{})
	if err != nil || len(fields) != 1000 {
		b.Fatalf("got %d fields, %v", len(fields), err)
	}
	return c, fields
}

// BenchmarkLarge is what a person waits for at 1,000 fields of 20 seasons; list,
// lookup and update are to be below 20 ms each.
func BenchmarkLarge(b *testing.B) {
	c, fields := large(b)
	ctx := b.Context()
	run := func(name string, f func(i int) error) {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				if err := f(i % len(fields)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	run("list=fields", func(int) error {
		got, err := c.Fields.List(ctx, catalog.Which{})
		if err == nil && len(got) != 1000 {
			err = fmt.Errorf("got %d", len(got))
		}
		return err
	})
	run("list=seasons-of-field", func(i int) error {
		got, err := c.Seasons.List(ctx, catalog.Which{Of: fields[i].ID})
		if err == nil && len(got) != 20 {
			err = fmt.Errorf("got %d", len(got))
		}
		return err
	})
	run("lookup=id", func(i int) error {
		_, err := c.Fields.Get(ctx, fields[i].ID)
		return err
	})
	run("lookup=name", func(i int) error {
		_, err := c.Fields.Named(ctx, fields[i].Name)
		return err
	})
	run("update=field", func(i int) error {
		f := fields[i]
		f.Note += "."
		f.Note = f.Note[:min(len(f.Note), 10)]
		f, err := c.Fields.Update(ctx, f)
		fields[i] = f
		return err
	})
	run("export", func(int) error {
		_, err := c.Export(ctx)
		return err
	})
	d, err := c.Export(ctx)
	if err != nil {
		b.Fatal(err)
	}
	text := []byte(encoded(b, d))
	b.Logf("%d bytes of YAML", len(text))
	run("import=same", func(int) error {
		_, err := c.Import(ctx, "large", text, true)
		return err
	})
}
