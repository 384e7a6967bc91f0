package records

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"drawbar/controller"
	"drawbar/internal/agronomy"
	"drawbar/internal/catalog"
)

// book is what records take from the catalogue.
type book struct {
	fields   map[string]*catalog.Field       // by folded name
	seasons  map[catalog.ID][]catalog.Season // of a field, by their first day
	season   map[catalog.ID]*catalog.Season
	field    map[catalog.ID]*catalog.Field
	plans    map[catalog.ID][]catalog.Plan // of a season, in order
	products map[string]*product           // by folded name
	product  map[catalog.ID]*product
	people   map[string]*catalog.Person // by folded name
	ofYear   map[int][]catalog.ID       // seasons that count to a year and are in use, by the names of their fields
	all      catalog.Book
	zone     *time.Location
}

// product is a product with what follows from all of them.
type product struct {
	*catalog.Product
	made catalog.Composition
}

func newBook(d *catalog.Document, zone *time.Location) *book {
	b := &book{
		fields: map[string]*catalog.Field{}, seasons: map[catalog.ID][]catalog.Season{}, season: map[catalog.ID]*catalog.Season{},
		field: map[catalog.ID]*catalog.Field{}, plans: map[catalog.ID][]catalog.Plan{},
		products: map[string]*product{}, product: map[catalog.ID]*product{}, people: map[string]*catalog.Person{}, ofYear: map[int][]catalog.ID{}, zone: zone,
	}
	for i := range d.Fields {
		f := &d.Fields[i]
		b.field[f.ID] = f
		if key := fold(f.Name); b.fields[key] == nil || b.fields[key].Archived {
			b.fields[key] = f
		}
	}
	for i := range d.Seasons {
		s := &d.Seasons[i]
		b.season[s.ID] = s
		b.seasons[s.Field] = append(b.seasons[s.Field], *s)
	}
	b.years(d)
	for _, list := range b.seasons {
		slices.SortStableFunc(list, func(a, c catalog.Season) int {
			return cmp.Or(compareBool(a.Archived, c.Archived), cmp.Compare(firstDay(&a), firstDay(&c)))
		})
	}
	for _, p := range d.Plans {
		if !p.Archived {
			b.plans[p.Season] = append(b.plans[p.Season], p)
		}
	}
	for _, list := range b.plans {
		slices.SortStableFunc(list, func(a, c catalog.Plan) int { return cmp.Or(cmp.Compare(a.Order, c.Order), cmp.Compare(a.ID, c.ID)) })
	}
	for i := range d.People {
		p := &d.People[i]
		if key := fold(p.Name); b.people[key] == nil || b.people[key].Archived {
			b.people[key] = p
		}
	}
	b.all = catalog.NewBook(d.Products)
	for i := range d.Products {
		p := &product{&d.Products[i], b.all.Of(d.Products[i].ID)}
		b.product[p.ID] = p
		if key := fold(p.Name); b.products[key] == nil || b.products[key].Archived {
			b.products[key] = p
		}
	}
	return b
}

// years lists the seasons of each year.
func (b *book) years(d *catalog.Document) {
	type named struct {
		field string
		*catalog.Season
	}
	var used []named
	for i := range d.Seasons {
		s := &d.Seasons[i]
		if f := b.field[s.Field]; f != nil && !s.Archived {
			used = append(used, named{fold(f.Name), s})
		}
	}
	slices.SortFunc(used, func(a, c named) int { return cmp.Or(cmp.Compare(a.field, c.field), cmp.Compare(a.ID, c.ID)) })
	for _, s := range used {
		b.ofYear[yearOf(s.Season)] = append(b.ofYear[yearOf(s.Season)], s.ID)
	}
}

func compareBool(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// firstDay orders seasons; one by year begins with it.
func firstDay(s *catalog.Season) catalog.Date {
	if s.Start != "" {
		return s.Start
	}
	return catalog.Date(strconv.Itoa(s.Year) + "-01-01")
}

// yearOf is the year that a season counts to: that of its last day, while none is
// known that of its first.
func yearOf(s *catalog.Season) int {
	day := s.End
	if day == "" {
		day = s.Start
	}
	if len(day) < 4 {
		return s.Year
	}
	y, _ := strconv.Atoi(string(day[:4]))
	return y
}

func yearText(year int) string {
	if year == 0 {
		return ""
	}
	return strconv.Itoa(year)
}

// place says of an operation what the catalogue knows: its field, its season, its
// crop.
func (b *book) place(o *Operation) {
	o.FieldID, o.SeasonID, o.Year, o.Grown, o.FieldArea = "", "", 0, o.Crop, 0
	start := o.OperationRecord.Start
	if !start.IsZero() {
		o.Year = start.In(b.zone).Year()
	}
	if o.Area.FieldM2 != nil {
		o.FieldArea = *o.Area.FieldM2
	}
	f := b.fields[fold(o.Field)]
	if f == nil || fold(o.Field) == "" {
		return
	}
	o.FieldID = f.ID
	if o.FieldArea == 0 {
		o.FieldArea = f.AreaM2
	}
	if s := b.seasonAt(f.ID, start, o.Crop); s != nil {
		o.SeasonID, o.Year = s.ID, yearOf(s)
		if o.Grown == "" {
			o.Grown = s.Crop
		}
	}
}

// seasonAt is the season of a field at a moment. A crop that was stated comes first:
// among the seasons of that crop the one at that time, else the only one of the
// year or, as of what is sown in autumn, of the next. Seasons of another crop than
// was stated do not fit.
func (b *book) seasonAt(field catalog.ID, at time.Time, crop string) *catalog.Season {
	if at.IsZero() {
		return nil
	}
	day := catalog.Date(at.In(b.zone).Format(time.DateOnly))
	year := at.In(b.zone).Year()
	list := b.seasons[field]
	var next *catalog.Season
	for i := range list {
		s := &list[i]
		if crop != "" && fold(s.Crop) != fold(crop) {
			continue
		}
		if s.Start == "" {
			if s.Year == year {
				return s
			}
			if crop != "" && s.Year == year+1 && next == nil {
				next = s
			}
			continue
		}
		if day >= s.Start && (s.End == "" && !b.followed(list, s, day) || s.End != "" && day <= s.End) {
			return s
		}
	}
	return next
}

// followed tells whether a season without a last day has ended because another of
// the field has begun since.
func (b *book) followed(list []catalog.Season, s *catalog.Season, day catalog.Date) bool {
	for i := range list {
		if o := &list[i]; !o.Archived && o.ID != s.ID && o.Start > s.Start && o.Start <= day {
			return true
		}
	}
	return false
}

// content is what an amount of a product holds, kg of each; known is false where the
// product, its analysis or its density is not.
func (b *book) content(name, unit string, amount float64) (n Nutrients, known bool) {
	p := b.products[fold(name)]
	if p == nil || fold(name) == "" || !p.made.HasAnalysis {
		return n, false
	}
	if p.made.Analysis == (agronomy.Analysis{}) {
		return n, true // a seed, say, in whatever unit
	}
	// The amount as if on one square metre: kg/m2 are then kg.
	in, ok := p.made.Analysis.In(controller.Quantity{SI: amount, Dim: rateDim(unit)}, p.made.DensityKgPerL)
	if !ok {
		return n, false
	}
	return Nutrients{in.NKgPerM2, in.P2O5KgPerM2, in.K2OKgPerM2, in.SKgPerM2, in.PKgPerM2(), in.KKgPerM2()}, true
}

// price puts what the catalogue asks for it on each use of a share that has an amount.
func (b *book) price(o *Operation, s *share) {
	for i := range s.uses {
		u := &s.uses[i]
		p := b.products[fold(o.Sums[u.sum].Name)]
		if p == nil || !u.has {
			continue
		}
		var money float64
		amount := controller.Quantity{SI: float64(u.amount) / perAmount, Dim: rateDim(o.Sums[u.sum].Unit).Amount()}
		if money, u.currency, u.priced = b.all.Cost(p.ID, amount); u.priced {
			u.cost = steps(money, perAmount)
		}
	}
}

// spelledProduct is a product's name as the catalogue spells it, else as recorded.
func (b *book) spelledProduct(folded, recorded string) string {
	if p := b.products[folded]; p != nil && folded != "" {
		return p.Name
	}
	return recorded
}

// rateDim is the dimension of a rate in a unit of amounts.
func rateDim(unit string) controller.Dim {
	switch unit {
	case "kg":
		return controller.DimMassPerArea
	case "l":
		return controller.DimVolumePerArea
	case "seeds":
		return controller.DimCountPerArea
	}
	return controller.DimNone
}

// Nutrients are masses in kg: nitrogen, phosphate as P2O5, potash as K2O, sulphur,
// and the phosphorus and the potassium in them.
type Nutrients struct {
	NKg    float64 `json:"n_kg"`
	P2O5Kg float64 `json:"p2o5_kg"`
	K2OKg  float64 `json:"k2o_kg"`
	SKg    float64 `json:"s_kg"`
	PKg    float64 `json:"p_kg"`
	KKg    float64 `json:"k_kg"`
}

func (n *Nutrients) add(o Nutrients) {
	n.NKg += o.NKg
	n.P2O5Kg += o.P2O5Kg
	n.K2OKg += o.K2OKg
	n.SKg += o.SKg
	n.PKg += o.PKg
	n.KKg += o.KKg
}
