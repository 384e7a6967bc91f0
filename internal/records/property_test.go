package records

import (
	"fmt"
	"math"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"drawbar/internal/catalog"
	"drawbar/internal/records/recordtest"
	"drawbar/replay"
)

// anyOperations draws operations as sessions give them.
func anyOperations(t *rapid.T) []Operation {
	var out []Operation
	for i := range rapid.IntRange(0, 12).Draw(t, "operations") {
		o := Operation{Session: fmt.Sprintf("%06d", i/3+1)}
		o.Number = i%3 + 1
		o.Field = rapid.SampledFrom([]string{"", "Mill Piece", "mill piece", "Far Reach"}).Draw(t, "field")
		o.Crop = rapid.SampledFrom([]string{"", "oats", "Wheat"}).Draw(t, "crop")
		o.OperationFigures.Operation = rapid.SampledFrom([]string{"", "seeding", "spraying"}).Draw(t, "operation")
		o.OperationRecord.Start = morning.AddDate(0, rapid.IntRange(0, 20).Draw(t, "month"), 0)
		m2 := rapid.Map(rapid.Int64Range(0, 5e9), func(v int64) float64 { return float64(v) / perM2 })
		o.Area.CoveredM2 = m2.Draw(t, "covered")
		o.Area.GrossM2 = o.Area.CoveredM2 + m2.Draw(t, "overlap")
		o.WorkingS = float64(rapid.IntRange(0, 40_000_000).Draw(t, "working")) / perS
		o.FieldS = o.WorkingS * 1.5
		o.DistanceM = o.WorkingS * 2
		if rapid.Bool().Draw(t, "implement") {
			o.Implement.SectionsM = []float64{12}
		}
		for p := range rapid.IntRange(0, 3).Draw(t, "products") {
			s := Sum{Name: rapid.SampledFrom([]string{"", "Urea", "urea", "Water"}).Draw(t, "product"), Unit: []string{"kg", "l", "kg"}[p]}
			s.AreaM2 = math.Floor(o.Area.GrossM2*rapid.Float64Range(0, 1).Draw(t, "laid")*perM2) / perM2
			s.RatedM2 = s.AreaM2
			if rapid.IntRange(0, 4).Draw(t, "known") > 0 {
				amount := float64(rapid.Int64Range(0, 1e13).Draw(t, "amount")) / perAmount
				s.Applied = &amount
			}
			o.Sums = append(o.Sums, s)
			o.Products = append(o.Products, s.figures())
		}
		for p := range rapid.IntRange(0, 3).Draw(t, "people") {
			person := replay.PersonFigures{Name: []string{"driver", "", "contractor"}[p], GrossM2: m2.Draw(t, "gross"), WorkingS: float64(p) * 10, DistanceM: 5}
			for k := range o.Products {
				share := replay.ProductShare{Product: k, AreaM2: m2.Draw(t, "area")}
				if rapid.Bool().Draw(t, "share known") {
					amount := rapid.Float64Range(0, 1e6).Draw(t, "share")
					share.Applied = &amount
				}
				person.Products = append(person.Products, share)
			}
			o.People = append(o.People, person)
		}
		out = append(out, o)
	}
	return out
}

func viewOf(ops []Operation) *Index {
	x := &Index{}
	urea := catalog.Product{Meta: catalog.Meta{ID: "u"}, Name: "Urea", Kind: catalog.Granular, Has: catalog.HasAnalysis}
	urea.Analysis.NPct = 46
	urea.Price, _ = catalog.ParsePrice("333.33 EUR/t")
	x.view.Store(newView(ops, nil, newBook(&catalog.Document{Products: []catalog.Product{urea}}, time.UTC)))
	return x
}

// whole are the sums that must come out the same however they are grouped, exactly.
type wholeSums struct {
	gross, covered, overlap, working, field, distance int64
	amounts, costs                                    int64
	unknown                                           int
}

func sumsOf(groups ...Group) (w wholeSums) {
	for _, g := range groups {
		w.gross += steps(g.GrossM2, perM2)
		w.covered += steps(g.CoveredM2, perM2)
		w.overlap += steps(g.OverlapM2, perM2)
		w.working += steps(g.WorkingS, perS)
		w.field += steps(g.FieldS, perS)
		w.distance += steps(g.DistanceM, perM)
		for _, p := range g.Products {
			if p.Applied != nil {
				w.amounts += steps(*p.Applied, perAmount)
			}
		}
		for _, c := range g.Costs {
			w.costs += steps(c.Amount, perAmount)
		}
		w.unknown += g.Unknown.Amounts
	}
	return w
}

// Totals by anything add up to the same whole, to the last digit.
func TestGroupsAddUp(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		ops := anyOperations(t)
		x := viewOf(ops)
		var direct wholeSums
		for _, o := range ops {
			direct.gross += steps(o.Area.GrossM2, perM2)
			direct.covered += steps(o.Area.CoveredM2, perM2)
			for _, s := range o.Sums {
				if s.Applied != nil {
					direct.amounts += steps(*s.Applied, perAmount)
				}
			}
		}
		all := x.Totals(ByField, Filter{}).All
		if got := sumsOf(all); got.gross != direct.gross || got.covered != direct.covered || got.amounts != direct.amounts {
			t.Fatalf("got %+v, want %+v of the operations one by one", got, direct)
		}
		for _, by := range Bys() {
			total := x.Totals(by, Filter{})
			got, want := sumsOf(total.Groups...), sumsOf(total.All)
			if by == ByProduct { // ground of several products is in the group of each
				got = wholeSums{amounts: got.amounts, costs: got.costs, unknown: got.unknown}
				want = wholeSums{amounts: want.amounts, costs: want.costs, unknown: want.unknown}
			}
			if got != want {
				t.Fatalf("by %s: groups %+v, all %+v", by, got, want)
			}
		}
	})
}

// A page is that cut of all groups, and the whole beside it is the same.
func TestTotalsPage(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		x := viewOf(anyOperations(t))
		var f Filter
		if rapid.Bool().Draw(t, "of one product") {
			urea := "urea"
			f.Product = &urea
		}
		for _, by := range Bys() {
			want := x.Totals(by, f)
			from := rapid.IntRange(0, len(want.Groups)+1).Draw(t, "from")
			most := rapid.IntRange(0, 4).Draw(t, "most")
			got := x.TotalsPage(by, f, from, most)
			from = min(from, len(want.Groups))
			want.Groups = want.Groups[from:min(from+most, len(want.Groups))]
			if !reflect.DeepEqual(got, want) {
				t.Fatalf("by %s from %d, %d at most:\n got %+v\nwant %+v", by, from, most, got, want)
			}
		}
	})
}

// What filters pick for each value there is, one by one, is the whole.
func TestFiltersPartition(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		x := viewOf(anyOperations(t))
		name := func(s string) *string {
			if s == "" {
				s = None
			}
			return &s
		}
		for _, by := range []By{ByField, ByCrop, ByPerson, ByOperation, BySeason, BySession} {
			total := x.Totals(by, Filter{})
			var parts []Group
			for _, g := range total.Groups {
				var f Filter
				switch by {
				case ByField:
					f.Field = name(g.Key)
				case ByCrop:
					f.Crop = name(g.Key)
				case ByPerson:
					f.Person = name(g.Key)
				case ByOperation:
					f.Operation = name(g.Key)
				case BySeason:
					f.Season = g.Key
				case BySession:
					f.Session = g.Key
				}
				part := x.Totals(ByField, f).All
				if sumsOf(part) != sumsOf(g) {
					t.Fatalf("%s %q: the filter picks %+v, the group has %+v", by, g.Key, sumsOf(part), sumsOf(g))
				}
				parts = append(parts, part)
				if page, n := x.Operations(f, 0, 1000); n != len(page) || n < part.Operations {
					t.Fatalf("%s %q: %d of %d operations listed, %d counted", by, g.Key, len(page), n, part.Operations)
				}
			}
			if got, want := sumsOf(parts...), sumsOf(total.All); got != want {
				t.Fatalf("by %s: parts %+v, whole %+v", by, got, want)
			}
		}
		// By product the amounts are parted, and the uses of which none is known.
		total := x.Totals(ByProduct, Filter{})
		var parts []Group
		for _, g := range total.Groups {
			parts = append(parts, x.Totals(ByField, Filter{Product: name(g.Key)}).All)
		}
		got, want := sumsOf(parts...), sumsOf(total.All)
		if got.amounts != want.amounts || got.costs != want.costs || got.unknown != want.unknown {
			t.Fatalf("by product: parts %+v, whole %+v", got, want)
		}
		// Time before and after any moment.
		cut := morning.AddDate(0, rapid.IntRange(0, 20).Draw(t, "cut"), 0)
		before, after := x.Totals(ByField, Filter{To: cut}).All, x.Totals(ByField, Filter{From: cut}).All
		if got, want := sumsOf(before, after), sumsOf(total.All); got != want {
			t.Fatalf("before and after %v: %+v, whole %+v", cut, got, want)
		}
	})
}

func TestSplit(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		total := rapid.Int64Range(-1<<60, 1<<60).Draw(t, "total")
		weights := rapid.SliceOfN(rapid.Int64Range(-5, 1<<61), 1, 9).Draw(t, "weights")
		var all float64
		for _, w := range weights {
			all += float64(max(w, 0))
		}
		var sum int64
		for i, part := range split(total, weights) {
			sum += part
			if all == 0 {
				continue
			}
			want := float64(total) * (float64(max(weights[i], 0)) / all)
			if math.Abs(float64(part)-want) > 1+1e-9*math.Abs(float64(total)) {
				t.Fatalf("part %d of %d by %v: got %d, want %g", i, total, weights, part, want)
			}
			if weights[i] <= 0 && part != 0 && part != total {
				t.Fatalf("part %d of %d by %v: got %d, want none", i, total, weights, part)
			}
		}
		if sum != total {
			t.Fatalf("%d by %v: the parts make %d", total, weights, sum)
		}
	})
}

// Sums hold what no int64 does, in any order.
func TestSum(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOf(rapid.Int64()).Draw(t, "values")
		var up, down, twice sum
		var want float64
		for i := range values {
			up.add(values[i])
			down.add(values[len(values)-1-i])
			want += float64(values[i])
		}
		twice.addSum(up)
		twice.addSum(down.negated())
		if up != down || twice != (sum{}) {
			t.Fatalf("%v: %v, %v, %v", values, up, down, twice)
		}
		if got := up.in(1); math.Abs(got-want) > 1e-9*math.MaxInt64*float64(len(values)) {
			t.Fatalf("%v: got %g, want %g", values, got, want)
		}
	})
}

func TestRefsComeBack(t *testing.T) {
	t.Parallel()
	r := Ref{"000017-20260514T130510Z", 2}
	if got, err := ParseRef(r.String()); err != nil || got != r {
		t.Errorf("got %v, %v", got, err)
	}
	for _, bad := range []string{"", "x", "x/", "/1", "x/0", "x/-1", "x/1/2", "x/one"} {
		if got, err := ParseRef(bad); err == nil {
			t.Errorf("%q: got %v, want it refused", bad, got)
		}
	}
}

// The whole of a farm's work is the same whether some of it is joined or not, but for
// ground that both parts worked, which joined counts once.
func TestJoinedCountsOnce(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	drive := func(name string, start time.Time, east float64) {
		write(t, dir, recordtest.Session{
			Name: name, Start: start, Config: bar(12) + "tanks: [{tank: 1, product: {name: Urea 46, kind: granular}}]\n",
			Jobs: []recordtest.Job{{Say: []string{`{"field":"Mill Piece","person":"driver"}`}, Passes: 2, PassS: 100, TurnS: 10, SpeedMPS: 2, SpacingM: 12, EastM: east, Report: "tank.1.rate=100kg/ha"}},
		})
	}
	drive("000001-20260514T080000Z", morning, 0)
	drive("000002-20260515T080000Z", morning.AddDate(0, 0, 1), 18) // half a width over the first
	x := indexed(t, dir, nil)
	apart := x.Totals(ByField, Filter{}).All
	if apart.Operations != 2 {
		t.Fatalf("got %+v", apart)
	}
	near(t, "covered apart", &apart.CoveredM2, 9600, 1)

	join := storeJoin(morning.Add(30*time.Second), morning.AddDate(0, 0, 1).Add(30*time.Second))
	if err := x.CheckJoin(join); err != nil {
		t.Fatal(err)
	}
	number := addJoin(t, dir, join)
	x.Refresh()
	settle(t, x)
	joins := x.Joins()
	if len(joins) != 1 || joins[0].State != Current || joins[0].Number != number {
		t.Fatalf("joins: %+v", joins)
	}
	all := x.Totals(ByField, Filter{}).All
	if all.Operations != 1 || all.Sessions != 2 {
		t.Errorf("joined: %d operations of %d sessions, want 1 of 2", all.Operations, all.Sessions)
	}
	near(t, "gross", &all.GrossM2, 9600, 1)
	near(t, "covered", &all.CoveredM2, 8400, 1) // 6 m by 200 m twice
	near(t, "applied", all.Products[0].Applied, 96, 0.02)
	near(t, "working", &all.WorkingS, 400, 0.1)
	near(t, "field time", &all.FieldS, 420, 0.1)
	for _, session := range []string{"000001-20260514T080000Z", "000002-20260515T080000Z"} {
		o, ok := x.Operation(Ref{session, 1})
		if !ok || o.Join != number || len(o.Parts) != 2 {
			t.Errorf("%s: got %+v", session, o)
		}
		if g := x.Totals(ByField, Filter{Session: session}).All; g.Operations != 1 {
			t.Errorf("of %s: %d operations, want the joined one", session, g.Operations)
		}
		ground, err := x.Ground(t.Context(), []Ref{{session, 1}})
		if err != nil || len(ground) < 400 {
			t.Errorf("ground: %s, %v", ground, err)
		}
	}
	if err := x.CheckJoin(join); err == nil {
		t.Error("joined twice, want it refused")
	}

	undoJoin(t, dir, number)
	x.Refresh()
	settle(t, x)
	if again := x.Totals(ByField, Filter{}).All; again.Operations != 2 || again.CoveredM2 != apart.CoveredM2 {
		t.Errorf("taken back: got %+v, want %+v", again, apart)
	}
}
