package recent

import (
	"cmp"
	"slices"
	"strings"
	"sync"
	"time"

	"drawbar/coverage"
	"drawbar/internal/live"
	"drawbar/internal/ready"
	"drawbar/internal/units"
)

// maxUses bounds what is remembered; those used longest ago go first.
const maxUses = 2000

// anotherSeason is a pause in the use of a product on a field after which its area is
// counted anew.
const anotherSeason = 120 * 24 * time.Hour

// Use is a product on a field, as it was laid in an operation of one name.
type Use struct {
	Field     string    `json:"field"`
	Operation string    `json:"operation"`
	Product   string    `json:"product"`
	Tank      int       `json:"tank"`             // the latest
	Target    string    `json:"target,omitempty"` // the latest, with its unit; empty: none was stated
	Since     time.Time `json:"since"`            // UTC by the receiver: the first moment of this season
	At        time.Time `json:"at"`               // the latest
	AreaM2    float64   `json:"area_m2"`          // gross, since then
	Order     int64     `json:"order"`            // grows with each use, whatever the clocks say
}

// Book is the memory. It may be used from several goroutines.
type Book struct {
	path string

	mu   sync.Mutex
	file file
	seen map[seen]float64 // area, m2, by product of an operation of this run
}

// seen is a product of an operation of this run.
type seen struct {
	operation, tank int
	product, unit   string
}

// file is what is kept.
type file struct {
	Schema    string `json:"schema"`
	Person    string `json:"person,omitempty"`    // who worked last
	Implement string `json:"implement,omitempty"` // what worked last
	Uses      []Use  `json:"uses"`
}

// Observe takes in a state. It tells whether there is something new to keep: a use,
// a person or an implement that was not there before; and whether anything changed.
func (b *Book) Observe(s *live.State) (fresh, changed bool) {
	w := &s.Snapshot.Work
	o := w.Operation
	if o == nil || s.Replay != nil {
		return false, false
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	for i := range o.Products {
		p := &o.Products[i]
		key := seen{o.Number, p.Tank, p.Product, p.Unit}
		grown := p.AreaM2 - b.seen[key]
		if p.Product == "" || !(grown > 0) {
			continue
		}
		b.seen[key] = p.AreaM2
		changed = true
		if b.used(o, p, grown, w, ready.Now(s)) {
			fresh = true
		}
	}
	if changed && b.working(w) {
		fresh = true
	}
	return fresh, changed
}

// used books the growth of a product's area and tells whether the use is new or
// states something new.
func (b *Book) used(o *coverage.OperationNow, p *coverage.ProductNow, grown float64, w *coverage.Snapshot, at time.Time) (fresh bool) {
	u := b.find(o.Field, o.Name, p.Product)
	if u == nil || at.Sub(u.At) > anotherSeason {
		if u == nil {
			b.forget()
			b.file.Uses = append(b.file.Uses, Use{Field: o.Field, Operation: o.Name, Product: p.Product})
			u = &b.file.Uses[len(b.file.Uses)-1]
		}
		u.Since, u.AreaM2, fresh = at, 0, true
	}
	for i := range w.InForce.Tanks {
		if t := &w.InForce.Tanks[i]; t.Number == p.Tank && t.Product.Name == p.Product {
			if target := ready.RateText(t.Target, t.Unit, units.Metric); target != "" && target != u.Target {
				u.Target, fresh = target, true
			}
		}
	}
	// Tanks that lay together take no turns: only another product from the same tank
	// goes before.
	last, ofTank := int64(0), int64(0)
	for i := range b.file.Uses {
		other := &b.file.Uses[i]
		last = max(last, other.Order)
		if other.Tank == p.Tank && other != u {
			ofTank = max(ofTank, other.Order)
		}
	}
	if u.Order == 0 || u.Tank != p.Tank || u.Order < ofTank {
		u.Tank, u.Order, fresh = p.Tank, last+1, true
	}
	u.At, u.AreaM2 = at, u.AreaM2+grown
	return fresh
}

func (b *Book) find(field, operation, product string) *Use {
	for i := range b.file.Uses {
		u := &b.file.Uses[i]
		if strings.EqualFold(u.Field, field) && strings.EqualFold(u.Operation, operation) && strings.EqualFold(u.Product, product) {
			return u
		}
	}
	return nil
}

// forget makes place for one more.
func (b *Book) forget() {
	if len(b.file.Uses) < maxUses {
		return
	}
	oldest := 0
	for i := range b.file.Uses {
		if b.file.Uses[i].Order < b.file.Uses[oldest].Order {
			oldest = i
		}
	}
	b.file.Uses = slices.Delete(b.file.Uses, oldest, oldest+1)
}

// working notes who works with what.
func (b *Book) working(w *coverage.Snapshot) (fresh bool) {
	if p := w.InForce.Person; p != "" && p != b.file.Person {
		b.file.Person, fresh = p, true
	}
	if im := w.InForce.Implement; im != nil && im.Name != "" && im.Name != b.file.Implement {
		b.file.Implement, fresh = im.Name, true
	}
	return fresh
}

// All are the uses everywhere, the latest first. A nil Book has none.
func (b *Book) All() []Use {
	if b == nil {
		return nil
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	out := slices.Clone(b.file.Uses)
	slices.SortStableFunc(out, func(a, b Use) int { return -cmp.Compare(a.Order, b.Order) })
	return out
}

// Here are those of one field.
func (b *Book) Here(field string) []Use {
	return slices.DeleteFunc(b.All(), func(u Use) bool { return !strings.EqualFold(u.Field, field) })
}

// Laid is what was laid on a field, for the intervals that run from it.
func (b *Book) Laid(field string) (out []ready.Application) {
	for _, u := range b.Here(field) {
		out = append(out, ready.Application{Product: u.Product, At: u.At})
	}
	return out
}

// LastPerson is who worked last, LastImplement with what; empty: not known.
func (b *Book) LastPerson() string {
	if b == nil {
		return ""
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.file.Person
}

// LastImplement is the name of the implement that worked last.
func (b *Book) LastImplement() string {
	if b == nil {
		return ""
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.file.Implement
}
