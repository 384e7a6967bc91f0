package catalog

import (
	"fmt"
	"strings"

	"drawbar/replay/statement"
)

// reader fills a Document from a file. References are kept as the file has them
// until all items are known.
type reader struct {
	doc    Document
	wrong  statement.Faults
	seen   map[string]bool // top members
	places map[ID]place
	noID   []ID // items that stated none, which may get that of one with their name
	refs   []reference
	single bool                      // one item is read: what stands below it in a file is none of it
	marks  map[string]statement.Node // where members are that are looked at in the end, by path
}

// place is where an item stands in the file.
type place struct {
	node statement.Node // its begin
	path string
}

// reference is a text that means an item.
type reference struct {
	place
	kind Kind // of the item
	text string
	set  func(*Document, ID)
}

func newReader() *reader {
	return &reader{seen: map[string]bool{}, places: map[ID]place{}, marks: map[string]statement.Node{}}
}

func (r *reader) faults() *statement.Faults { return &r.wrong }

func topKeys() []string {
	return []string{"schema", "fields", "implements", "tractors", "products", "people", "marks"}
}

func (r *reader) member(key string, at *statement.Node) bool {
	if r.seen[key] {
		r.wrong.Add(at, key, "the key a second time", "each key once")
	}
	r.seen[key] = true
	// Open tells of a key that is not known.
	n := statement.Node{Kind: statement.KindMap, Line: at.Line, Col: at.Col, Members: []statement.Member{{Key: key, Line: at.Line, Col: at.Col}}}
	statement.Open(&n, "", &r.wrong, topKeys())
	return key != "schema"
}

func (r *reader) value(key string, n *statement.Node) {
	switch {
	case key == "schema":
		if n.Kind != statement.KindText || n.Text != Schema {
			r.wrong.Add(n, key, what(n), Schema+", the only layout that this program reads")
		}
	case n.Kind == statement.KindNull, n.Kind == statement.KindList && len(n.Items) == 0:
	case n.Kind == statement.KindList: // of YAML in brackets
		for i := range n.Items {
			r.item(key, i, &n.Items[i])
		}
	default:
		r.wrong.Add(n, key, what(n), "a list of "+key)
	}
}

// what is the kind of thing that stands at a node.
func what(n *statement.Node) string {
	switch n.Kind {
	case statement.KindNull:
		return "nothing"
	case statement.KindList:
		return "a list"
	case statement.KindMap:
		return "a group of keys"
	case statement.KindBool:
		return "true or false"
	default:
		return orNothing(n.Text)
	}
}

func (r *reader) item(key string, i int, n *statement.Node) {
	at := fmt.Sprintf("%s[%d]", key, i)
	switch key {
	case "fields":
		r.field(n, at)
	case "implements":
		r.implement(n, at)
	case "tractors":
		r.tractor(n, at)
	case "products":
		r.product(n, at)
	case "people":
		r.person(n, at)
	case "marks":
		r.mark(n, at)
	}
}

// end is called after the last member.
func (r *reader) end() {
	if !r.seen["schema"] && r.wrong.Len() == 0 {
		r.wrong.Add(&statement.Node{Line: 1, Col: 1}, "schema", "nothing", "schema: "+Schema)
	}
}

// members is a map of the file being read.
type members struct {
	statement.Object
	r      *reader
	n      *statement.Node
	at     string
	before int // faults
}

// open begins a map; nil where there is none.
func (r *reader) open(n *statement.Node, at string, keys ...string) *members {
	before := r.wrong.Len()
	o, ok := statement.Open(n, at, &r.wrong, keys)
	if !ok {
		return nil
	}
	return &members{o, r, n, at, before}
}

// keys are those of an item, with that of what stands below it in a file.
func (r *reader) keys(below string, keys ...string) []string {
	if r.single {
		return keys
	}
	return append(keys, below)
}

func (m *members) faulty() bool { return m.r.wrong.Len() > m.before }

// meta reads what every item has and keeps the item's place.
func (m *members) meta() Meta {
	var out Meta
	out.Archived, _ = m.Bool("archived")
	const want = "the 26 letters and digits of an id as drawbar made it, or none"
	if s, ok := m.Name("id", want); ok {
		out.ID = ID(s)
		if !out.ID.Valid() {
			m.Fault("id", shown(s), want)
		} else if other, twice := m.r.places[out.ID]; twice {
			m.Fault("id", "the id of "+other.path, "each id once")
		}
	} else if m.Get("id") == nil {
		out.ID = NewID()
		m.r.noID = append(m.r.noID, out.ID)
	}
	if out.ID.Valid() {
		m.r.places[out.ID] = place{statement.Node{Line: m.n.Line, Col: m.n.Col}, m.at}
	}
	return out
}

// must wants a member to be there.
func (m *members) must(key, want string) {
	if m.Get(key) == nil {
		m.Missing(key, want)
	}
}

func (m *members) name(key, want string) string {
	m.must(key, want)
	m.mark(key)
	s, _ := m.Name(key, want)
	return s
}

func (m *members) note() string {
	s, _ := m.Note("note", "a note")
	return s
}

func (m *members) optional(key, want string) string {
	s, _ := m.Name(key, want)
	return s
}

// number reads a number; problems of its size are found by the item's check.
func (m *members) number(key string) (float64, bool) {
	return m.Number(key, rangeOf(key))
}

func (m *members) whole(key string, lo, hi int) (int, bool) { return m.Int(key, lo, hi) }

func (m *members) rate(key, want string) (r Rate) {
	s, ok := m.Name(key, want)
	if !ok {
		return r
	}
	r, err := ParseRate(s)
	if err != nil {
		m.Fault(key, shown(s), want+" ("+strings.ReplaceAll(err.Error(), "\n", " ")+")")
	}
	return r
}

// reference reads a text that means a product, and keeps it for the end.
func (m *members) reference(key, want string, set func(*Document, ID)) {
	m.referenceTo(KindProduct, key, want, set)
}

// referenceTo is reference for an item of some kind: a product or a field.
func (m *members) referenceTo(kind Kind, key, want string, set func(*Document, ID)) {
	if s, ok := m.Name(key, want); ok {
		m.mark(key)
		m.r.refs = append(m.r.refs, reference{place{m.r.marks[m.Path(key)], m.Path(key)}, kind, s, set})
	}
}

// mark keeps the place of a member for faults that are found in the end.
func (m *members) mark(key string) {
	if n := m.Get(key); n != nil {
		m.r.marks[m.Path(key)] = statement.Node{Line: n.Line, Col: n.Col}
	}
}

// checked notes the problems of an item. Those are left out that follow from
// references, which are not known yet.
func (m *members) checked(is problems, references ...string) bool {
	for _, p := range is {
		reference := false
		for _, key := range references {
			reference = reference || p.Path == key || strings.HasSuffix(p.Path, "]."+key)
		}
		if reference {
			continue
		}
		if m.faulty() {
			break // these may follow from the others
		}
		m.r.problem(place{*m.n, m.at}, p.Path, p.Got, p.Want)
	}
	return !m.faulty()
}

// problem notes a problem of an item at the member it is in.
func (r *reader) problem(at place, path, got, want string) {
	n, full := at.node.Locate(path), at.path
	if path != "" && full != "" {
		full += "."
	}
	full += path
	if mark, ok := r.marks[full]; ok {
		n = &mark
	}
	r.wrong.Add(n, full, got, want)
}

func (r *reader) field(n *statement.Node, at string) {
	m := r.open(n, at, r.keys("seasons", "name", "id", "archived", "note", "boundary")...)
	if m == nil {
		return
	}
	f := Field{Meta: m.meta(), Name: m.name("name", "the field's name"), Note: m.note()}
	if b := m.Get("boundary"); b != nil && b.Kind != statement.KindNull {
		f.Outline, _ = statement.Boundary(b, m.Path("boundary"), &r.wrong)
	}
	m.checked(f.check())
	r.doc.Fields = append(r.doc.Fields, f)
	seasons, _ := m.List("seasons", "a list of seasons")
	for i := range seasons {
		r.season(&seasons[i], fmt.Sprintf("%s.seasons[%d]", at, i), f.ID)
	}
}

func (r *reader) season(n *statement.Node, at string, field ID) {
	m := r.open(n, at, r.keys("plans", "crop", "id", "archived", "crop_code", "year", "start", "end", "target_yield", "note")...)
	if m == nil {
		return
	}
	s := Season{Meta: m.meta(), Field: field, Crop: m.name("crop", "the crop"), Note: m.note()}
	s.CropCode = m.optional("crop_code", wantCropCode)
	s.Year, _ = m.whole("year", minYear, maxYear)
	if m.Get("year") == nil && m.Get("start") == nil && !m.faulty() {
		m.Missing("year", "a year, or start and end")
	}
	s.Start = Date(m.optional("start", "the first day, as \"2026-03-01\""))
	s.End = Date(m.optional("end", "the last day, as \"2026-08-31\""))
	s.TargetYield = m.rate("target_yield", "a mass or a volume per area, such as 6.5 t/ha")
	m.checked(s.check(), "field")
	r.doc.Seasons = append(r.doc.Seasons, s)
	plans, _ := m.List("plans", "a list of plans")
	for i := range plans {
		r.plan(&plans[i], fmt.Sprintf("%s.plans[%d]", at, i), s.ID)
	}
}

func (r *reader) plan(n *statement.Node, at string, season ID) {
	m := r.open(n, at, "order", "id", "archived", "operation", "product", "rate", "tank", "note")
	if m == nil {
		return
	}
	l := Plan{Meta: m.meta(), Season: season, Operation: m.name("operation", "an operation such as seeding"), Note: m.note()}
	m.must("order", "its order in the season, from 1")
	l.Order, _ = m.whole("order", 1, maxOrder)
	l.Tank, _ = m.whole("tank", 0, maxTank)
	m.must("rate", "a rate with its unit, such as 180 kg/ha")
	l.Rate = m.rate("rate", "a rate with its unit, such as 180 kg/ha")
	m.mark("rate")
	const want = "the name or the id of a product"
	m.must("product", want)
	i := len(r.doc.Plans)
	m.reference("product", want, func(d *Document, id ID) { d.Plans[i].Product = id })
	m.checked(l.check(), "product", "season")
	r.doc.Plans = append(r.doc.Plans, l)
}

func (r *reader) implement(n *statement.Node, at string) {
	if n.Kind != statement.KindMap {
		r.wrong.Add(n, at, what(n), "an implement with its name")
		return
	}
	// What the configuration has, and beside it what every item here has.
	own, rest := *n, *n
	own.Members, rest.Members = nil, nil
	for _, member := range n.Members {
		switch member.Key {
		case "id", "archived", "note":
			own.Members = append(own.Members, member)
		default:
			rest.Members = append(rest.Members, member)
		}
	}
	m := r.open(&own, at, "id", "archived", "note")
	im := Implement{Meta: m.meta(), Note: m.note()}
	if n.Get("name") == nil {
		m.Missing("name", "the implement's name")
	}
	if name := n.Get("name"); name != nil {
		r.marks[at+".name"] = statement.Node{Line: name.Line, Col: name.Col}
	}
	im.Implement, _ = statement.Implement(&rest, at, &r.wrong)
	m.n = n
	m.checked(im.check())
	r.doc.Implements = append(r.doc.Implements, im)
}

func (r *reader) tractor(n *statement.Node, at string) {
	m := r.open(n, at, "name", "id", "archived", "note", "antenna_right_m", "antenna_to_hitch_m", "antenna_to_linkage_m")
	if m == nil {
		return
	}
	t := Tractor{Meta: m.meta(), Name: m.name("name", "the tractor's name"), Note: m.note()}
	t.AntennaRightM, _ = m.number("antenna_right_m")
	m.must("antenna_to_hitch_m", "the metres from the antenna back to the drawbar's pin")
	t.AntennaToHitchM, _ = m.number("antenna_to_hitch_m")
	t.AntennaToLinkageM, t.HasLinkage = m.number("antenna_to_linkage_m")
	m.checked(t.check())
	r.doc.Tractors = append(r.doc.Tractors, t)
}

func (r *reader) person(n *statement.Node, at string) {
	m := r.open(n, at, "name", "id", "archived", "licence", "note")
	if m == nil {
		return
	}
	w := Person{Meta: m.meta(), Name: m.name("name", "the person's name or role"), Licence: m.optional("licence", "the number of a licence"), Note: m.note()}
	m.checked(w.check())
	r.doc.People = append(r.doc.People, w)
}
