//go:build unix

package records

import (
	"fmt"
	"syscall"
	"testing"
	"time"

	"drawbar/internal/catalog"
	"drawbar/replay"
)

// largeFarm is 10,000 operations of 5,000 sessions on 1,000 fields in 20 years, of two
// people and two products each.
func largeFarm() *Index {
	d := &catalog.Document{}
	for i := range 20 {
		p := catalog.Product{Meta: catalog.Meta{ID: catalog.ID(fmt.Sprint("p", i))}, Name: fmt.Sprint("Product ", i), Kind: catalog.Granular, Has: catalog.HasAnalysis}
		p.Analysis.NPct = 20
		p.Price, _ = catalog.ParsePrice("320 EUR/t")
		d.Products = append(d.Products, p)
	}
	for f := range 1000 {
		id := catalog.ID(fmt.Sprint("f", f))
		d.Fields = append(d.Fields, catalog.Field{Meta: catalog.Meta{ID: id}, Name: fmt.Sprint("Field ", f), AreaM2: 50000})
		for y := range 20 {
			d.Seasons = append(d.Seasons, catalog.Season{Meta: catalog.Meta{ID: catalog.ID(fmt.Sprint("s", f, "-", y))}, Field: id, Year: 2007 + y, Crop: fmt.Sprint("Crop ", (f+y)%8)})
		}
	}
	var ops []Operation
	for i := range 10_000 {
		o := Operation{Session: fmt.Sprintf("%06d", i/2), FieldS: 5000}
		o.Number, o.Field, o.OperationFigures.Operation = i%2+1, fmt.Sprint("Field ", i%1000), []string{"seeding", "spreading", "spraying"}[i%3]
		o.OperationRecord.Start = time.Date(2007+i%20, time.Month(3+i%6), 1, 8, i%60, 0, 0, time.UTC)
		o.Area.GrossM2, o.Area.CoveredM2 = 40000.125, 39000.5
		o.WorkingS, o.DistanceM, o.Implement.SectionsM = 3000, 7000, []float64{12}
		for p := range 2 {
			amount := 600.25
			s := Sum{Name: fmt.Sprint("Product ", (i+p*7)%20), Unit: "kg", AreaM2: o.Area.GrossM2, RatedM2: o.Area.GrossM2, Applied: &amount}
			o.Sums, o.Products = append(o.Sums, s), append(o.Products, s.figures())
			half := amount / 2
			o.People = append(o.People, replay.PersonFigures{Name: fmt.Sprint("driver ", (i+p)%10), GrossM2: 20000, WorkingS: 1500, DistanceM: 3500, Products: []replay.ProductShare{{Product: 0, AreaM2: 20000, Applied: &half}, {Product: p, AreaM2: 20000, Applied: &half}}})
		}
		ops = append(ops, o)
	}
	x := &Index{}
	x.view.Store(newView(ops, nil, newBook(d, time.UTC)))
	return x
}

// cpu is the processor time of this process so far.
func cpu() time.Duration {
	var u syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &u)
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// Totals of all work on a large farm.
func BenchmarkTotals(b *testing.B) {
	x := largeFarm()
	for _, by := range Bys() {
		b.Run(string(by), func(b *testing.B) {
			b.ReportAllocs()
			begin := cpu()
			var t Totals
			for b.Loop() {
				t = x.TotalsPage(by, Filter{}, 0, 200)
			}
			if t.All.Operations != 10_000 {
				b.Fatalf("%d operations", t.All.Operations)
			}
			b.ReportMetric(float64((cpu()-begin).Microseconds())/1000/float64(b.N), "cpu-ms/call")
		})
	}
}
