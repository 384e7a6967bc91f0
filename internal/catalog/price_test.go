package catalog_test

import (
	"errors"
	"math"
	"testing"

	"drawbar/controller"
	"drawbar/internal/catalog"
)

// Prices as they are quoted for what a farm buys: by the tonne, the hundred
// kilograms, the litre and the unit of seeds (common practice, no source).
func TestPrices(t *testing.T) {
	t.Parallel()
	for _, x := range []struct{ in, out string }{
		{"", ""},
		{"320 EUR/t", "320 EUR/t"},
		{" 17.50EUR / 100kg ", "17.5 EUR/100 kg"},
		{"0 GBP/t", "0 GBP/t"}, // muck of the farm's own
		{"95 EUR/50000 seeds", "95 EUR/50000 seeds"},
		{"1.35 GBP/l", "1.35 GBP/l"},
		{"4 USD/1 gal", "4 USD/gal"},
	} {
		p, err := catalog.ParsePrice(x.in)
		if err != nil || p.String() != x.out {
			t.Errorf("%q: got %q, %v, want %q", x.in, p, err, x.out)
		}
		if again, err := catalog.ParsePrice(p.String()); err != nil || again != p {
			t.Errorf("%q again: %+v, %v, want %+v", x.in, again, err, p)
		}
	}
	for _, in := range []string{
		"320", "320 EUR", "EUR/t", "320 eur/t", "320 euro/t", "320 €/t", "-1 EUR/t", "1e3 EUR/t", "320 EUR/ha", "320 EUR/kg/ha", "320 EUR/l/min",
		"320 EUR/0 t", "320 EUR/1.2.3 t", "1.2.3 EUR/t", "2000000000 EUR/t", "320 EUR/", "/t", "320 EUR/t extra", "0.0000000001 EUR/t", "NaN EUR/t",
	} {
		if p, err := catalog.ParsePrice(in); err == nil {
			t.Errorf("%q: got %+v, want an error", in, p)
		}
	}
}

func TestPriceFitsTheKind(t *testing.T) {
	t.Parallel()
	c := empty(t)
	for _, x := range []struct {
		kind  catalog.ProductKind
		price string
		ok    bool
	}{
		{catalog.Seed, "95 EUR/50000 seeds", true},
		{catalog.Seed, "480 EUR/t", true},
		{catalog.Seed, "1 EUR/l", false},
		{catalog.Granular, "320 EUR/t", true},
		{catalog.Liquid, "250 EUR/t", true},
		{catalog.Liquid, "95 EUR/50000 seeds", false},
	} {
		price, err := catalog.ParsePrice(x.price)
		if err != nil {
			t.Fatal(err)
		}
		_, err = c.Products.Add(t.Context(), catalog.Product{Name: x.kind.String() + " " + x.price, Kind: x.kind, Price: price})
		var invalid *catalog.InvalidError
		switch {
		case x.ok && err != nil:
			t.Errorf("%s at %s: %v", x.kind, x.price, err)
		case !x.ok && (!errors.As(err, &invalid) || len(invalid.Problems) != 1 || invalid.Problems[0].Path != "price"):
			t.Errorf("%s at %s: got %v, want a problem of price", x.kind, x.price, err)
		}
	}
}

// What an amount costs, by hand: 250 kg at 320 a tonne are 80; 100 l of 1.28 kg/l
// are 128 kg, at 250 a tonne 32; 1,000,000 seeds of 38 g a thousand are 38 kg, at
// 500 a tonne 19, and at 95 for 50,000 seeds 1,900.
func TestCost(t *testing.T) {
	t.Parallel()
	price := func(s string) catalog.Price {
		p, err := catalog.ParsePrice(s)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	book := catalog.NewBook([]catalog.Product{
		{Meta: catalog.Meta{ID: "urea"}, Kind: catalog.Granular, Price: price("320 EUR/t")},
		{Meta: catalog.Meta{ID: "solution"}, Kind: catalog.Liquid, DensityKgPerL: 1.28, Price: price("250 EUR/t")},
		{Meta: catalog.Meta{ID: "thin"}, Kind: catalog.Liquid, Price: price("250 EUR/t")},
		{Meta: catalog.Meta{ID: "oats"}, Kind: catalog.Seed, ThousandKernelG: 38, Price: price("500 EUR/t")},
		{Meta: catalog.Meta{ID: "maize"}, Kind: catalog.Seed, Price: price("95 EUR/50000 seeds")},
		{Meta: catalog.Meta{ID: "free"}, Kind: catalog.Granular},
		{Meta: catalog.Meta{ID: "mix"}, Kind: catalog.Blend, Price: price("1 GBP/l"), Parts: []catalog.Part{{Product: "solution", Share: 1}}},
	})
	for _, x := range []struct {
		id     catalog.ID
		amount string
		want   float64
		in     string
	}{
		{"urea", "250 kg", 80, "EUR"},
		{"solution", "100 l", 32, "EUR"},
		{"thin", "100 l", 0, ""}, // without a density
		{"oats", "1000000 seeds", 19, "EUR"},
		{"maize", "1000000 seeds", 1900, "EUR"},
		{"maize", "38 kg", 0, ""}, // without a weight
		{"free", "38 kg", 0, ""},
		{"mix", "128 kg", 100, "GBP"}, // by the density that follows from its parts
		{"urea", "180 kg/ha", 0, ""},
		{"nothing", "1 kg", 0, ""},
	} {
		q, err := controller.ParseQuantity(x.amount, controller.Unit{})
		if err != nil {
			t.Fatal(err)
		}
		got, currency, ok := book.Cost(x.id, q)
		if ok != (x.in != "") || currency != x.in || math.Abs(got-x.want) > 1e-9 {
			t.Errorf("%s of %s: got %v %s, %v, want %v %s", x.amount, x.id, got, currency, ok, x.want, x.in)
		}
	}
}
