package catalog

import (
	"bufio"
	"io"

	"drawbar/replay/statement"

	"github.com/paulmach/orb"
)

// Format is how a file is written.
type Format uint8

// The formats.
const (
	YAML Format = iota
	JSON
)

// Encode writes a catalogue. The same catalogue gives the same bytes, and Import
// reads the same catalogue from them. Revisions are not written: they count what
// happened in one catalogue.
func Encode(w io.Writer, d Document, format Format) error {
	e := newEncoder(d)
	b := bufio.NewWriterSize(w, 64<<10)
	var out sections = &yamlWriter{w: b}
	if format == JSON {
		out = &jsonWriter{w: b}
	}
	out.begin()
	section(out, "fields", d.Fields, e.field)
	section(out, "implements", d.Implements, e.implement)
	section(out, "tractors", d.Tractors, e.tractor)
	section(out, "products", d.Products, e.product)
	section(out, "people", d.People, e.person)
	section(out, "marks", d.Marks, e.mark)
	out.end()
	return b.Flush()
}

// sections are a file being written, a list of items at a time.
type sections interface {
	begin()
	list(key string, n int)
	item(*statement.Node)
	end()
}

// section writes a list, item by item so that not all nodes stand in memory.
func section[T any](out sections, key string, items []T, encode func(*T) statement.Node) {
	out.list(key, len(items))
	for i := range items {
		n := encode(&items[i])
		out.item(&n)
	}
}

// encoder turns items into nodes: what a file states of them, in its order.
type encoder struct {
	seasons  map[ID][]*Season // of a field
	plans    map[ID][]*Plan   // of a season
	products names
	called   map[ID]string // names of products

	fields      names
	fieldCalled map[ID]string // names of fields
}

func newEncoder(d Document) *encoder {
	e := &encoder{
		seasons: map[ID][]*Season{}, plans: map[ID][]*Plan{},
		products: newNames(productTable(), d.Products), called: map[ID]string{},
		fields: newNames(fieldTable(), d.Fields), fieldCalled: map[ID]string{},
	}
	for i := range d.Seasons {
		s := &d.Seasons[i]
		e.seasons[s.Field] = append(e.seasons[s.Field], s)
	}
	for i := range d.Plans {
		l := &d.Plans[i]
		e.plans[l.Season] = append(e.plans[l.Season], l)
	}
	for i := range d.Fields {
		e.fieldCalled[d.Fields[i].ID] = d.Fields[i].Name
	}
	for _, p := range d.Products {
		e.called[p.ID] = p.Name
	}
	return e
}

func (e *encoder) productText(id ID) string { return e.products.say(id, e.called[id]) }

// group is a map being put together.
type group struct{ n statement.Node }

func newGroup() *group { return &group{statement.Node{Kind: statement.KindMap}} }

func (g *group) put(key string, n statement.Node) {
	g.n.Members = append(g.n.Members, statement.Member{Key: key, Value: n})
}

// text puts a text unless it is empty.
func (g *group) text(key, s string) {
	if s != "" {
		g.put(key, statement.Node{Kind: statement.KindText, Text: s})
	}
}

func numberNode(v float64) statement.Node {
	if v == 0 {
		v = 0 // -0 is 0
	}
	return statement.Node{Kind: statement.KindNumber, Num: v}
}

func (g *group) number(key string, v float64, is bool) {
	if is {
		g.put(key, numberNode(v))
	}
}

func (g *group) list(key string, items []statement.Node) {
	if len(items) > 0 {
		g.put(key, statement.Node{Kind: statement.KindList, Items: items})
	}
}

// meta puts what every item has, after the member that names it.
func (g *group) meta(m Meta) {
	g.text("id", string(m.ID))
	if m.Archived {
		g.put("archived", statement.Node{Kind: statement.KindBool, Bool: true})
	}
}

func (e *encoder) field(f *Field) statement.Node {
	g := newGroup()
	g.text("name", f.Name)
	g.meta(f.Meta)
	g.text("note", f.Note)
	if f.Outline != nil {
		g.put("boundary", outlineNode(f.Outline))
	}
	var list []statement.Node
	for _, s := range e.seasons[f.ID] {
		list = append(list, e.season(s))
	}
	g.list("seasons", list)
	return g.n
}

func outlineNode(m orb.MultiPolygon) statement.Node {
	list := func(n int) statement.Node {
		return statement.Node{Kind: statement.KindList, Items: make([]statement.Node, n)}
	}
	all := list(len(m))
	for i, p := range m {
		all.Items[i] = list(len(p))
		for j, r := range p {
			all.Items[i].Items[j] = list(len(r))
			for k, at := range r {
				position := list(2)
				position.Items[0], position.Items[1] = numberNode(at[0]), numberNode(at[1])
				all.Items[i].Items[j].Items[k] = position
			}
		}
	}
	g := newGroup()
	g.text("type", "MultiPolygon")
	g.put("coordinates", all)
	return g.n
}

func (e *encoder) season(s *Season) statement.Node {
	g := newGroup()
	g.text("crop", s.Crop)
	g.meta(s.Meta)
	g.text("crop_code", s.CropCode)
	g.number("year", float64(s.Year), s.Year != 0)
	g.text("start", string(s.Start))
	g.text("end", string(s.End))
	g.text("target_yield", s.TargetYield.String())
	g.text("note", s.Note)
	var list []statement.Node
	for _, l := range e.plans[s.ID] {
		list = append(list, e.plan(l))
	}
	g.list("plans", list)
	return g.n
}

func (e *encoder) plan(l *Plan) statement.Node {
	g := newGroup()
	g.number("order", float64(l.Order), true)
	g.meta(l.Meta)
	g.text("operation", l.Operation)
	g.text("product", e.productText(l.Product))
	g.text("rate", l.Rate.String())
	g.number("tank", float64(l.Tank), l.Tank != 0)
	g.text("note", l.Note)
	return g.n
}

func (e *encoder) implement(im *Implement) statement.Node {
	g := newGroup()
	g.text("name", im.Name)
	g.meta(im.Meta)
	g.text("note", im.Note)
	j := statement.EncodeImplement(im.Implement)
	g.text("operation", j.Operation)
	g.number("antenna_to_hitch_m", j.AntennaToHitchM, true)
	g.number("antenna_right_m", j.AntennaRightM, true)
	g.text("mount", j.Mount)
	g.number("hitch_to_axle_m", j.HitchToAxleM, j.HitchToAxleM != 0)
	g.number("hitch_to_bar_m", j.HitchToBarM, true)
	g.number("bar_right_m", j.BarRightM, true)
	widths := make([]statement.Node, len(j.SectionsM))
	for i, w := range j.SectionsM {
		widths[i] = numberNode(w)
	}
	g.list("sections_m", widths)
	return g.n
}

func (e *encoder) tractor(t *Tractor) statement.Node {
	g := newGroup()
	g.text("name", t.Name)
	g.meta(t.Meta)
	g.text("note", t.Note)
	g.number("antenna_right_m", t.AntennaRightM, true)
	g.number("antenna_to_hitch_m", t.AntennaToHitchM, true)
	g.number("antenna_to_linkage_m", t.AntennaToLinkageM, t.HasLinkage)
	return g.n
}

func (e *encoder) product(p *Product) statement.Node {
	g := newGroup()
	g.text("name", p.Name)
	g.meta(p.Meta)
	g.text("kind", p.Kind.String())
	g.text("note", p.Note)
	g.text("price", p.Price.String())
	g.number("density_kg_per_l", p.DensityKgPerL, p.DensityKgPerL != 0)
	g.number("thousand_kernel_g", p.ThousandKernelG, p.ThousandKernelG != 0)
	g.number("germination_pct", p.GerminationPct, p.GerminationPct != 0)
	g.text("lot", p.Lot)
	if p.RidesOn != "" {
		g.text("rides_on", e.productText(p.RidesOn))
	}
	if p.Dose != (Dose{}) {
		g.text("dose", withUnit(p.Dose.Amount, p.Dose.Unit.String()))
	}
	if p.Has&HasAnalysis != 0 {
		a := newGroup()
		a.number("n_pct", p.Analysis.NPct, true)
		a.number("p2o5_pct", p.Analysis.P2O5Pct, true)
		a.number("k2o_pct", p.Analysis.K2OPct, true)
		a.number("s_pct", p.Analysis.SPct, true)
		g.put("analysis", a.n)
	}
	g.text("registration", p.Registration)
	var list []statement.Node
	for _, s := range p.Substances {
		one := newGroup()
		one.text("name", s.Name)
		one.text("content", withUnit(s.Content, s.Per.String()))
		list = append(list, one.n)
	}
	g.list("substances", list)
	g.text("max_rate", p.MaxRate.String())
	g.number("max_applications", float64(p.MaxApplications), p.Has&HasMaxApplications != 0)
	g.number("reentry_h", p.ReentryH, p.Has&HasReentry != 0)
	g.number("pre_harvest_days", float64(p.PreHarvestDays), p.Has&HasPreHarvest != 0)
	if p.Kind == Blend {
		g.text("shares_by", blendBy(p.ByVolume))
		list = nil
		for _, part := range p.Parts {
			one := newGroup()
			one.text("product", e.productText(part.Product))
			one.number("share", part.Share, true)
			list = append(list, one.n)
		}
		g.list("parts", list)
	}
	return g.n
}

func (e *encoder) person(w *Person) statement.Node {
	g := newGroup()
	g.text("name", w.Name)
	g.meta(w.Meta)
	g.text("licence", w.Licence)
	g.text("note", w.Note)
	return g.n
}
