package catalog

import (
	"time"

	"drawbar/replay/statement"
)

// This file is marks in the exchange file.

func (e *encoder) mark(m *Mark) statement.Node {
	g := newGroup()
	g.text("kind", m.Kind)
	g.meta(m.Meta)
	g.text("note", m.Note)
	if m.Field != "" {
		g.text("field", e.fields.say(m.Field, e.fieldCalled[m.Field]))
	}
	g.text("field_name", m.FieldName)
	if m.HasPlace {
		g.list("at", []statement.Node{numberNode(m.LonDeg), numberNode(m.LatDeg)})
	}
	g.text("left", fileTime(m.Left))
	g.text("origin", m.Origin)
	if m.Done {
		g.put("done", statement.Node{Kind: statement.KindBool, Bool: true})
	}
	g.text("settled", fileTime(m.Settled))
	g.text("settled_by", m.SettledBy)
	return g.n
}

func fileTime(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339Nano)
}

func (r *reader) mark(n *statement.Node, at string) {
	m := r.open(n, at, "kind", "id", "archived", "note", "field", "field_name", "at", "left", "origin", "done", "settled", "settled_by")
	if m == nil {
		return
	}
	k := Mark{
		Meta: m.meta(), Kind: m.name("kind", "what it is, such as stone"), Note: m.note(),
		FieldName: m.optional("field_name", "the name of a field that is not in the catalogue"),
		Origin:    m.optional("origin", "the session and the number of the mark in it"),
		SettledBy: m.optional("settled_by", "who said that it is done"),
	}
	m.mark("origin")
	k.Done, _ = m.Bool("done")
	m.must("left", wantMoment)
	k.Left, k.Settled = m.moment("left"), m.moment("settled")
	if p := m.Get("at"); p != nil && p.Kind != statement.KindNull {
		k.LonDeg, k.LatDeg, k.HasPlace = m.position("at", p)
	}
	i := len(r.doc.Marks)
	m.referenceTo(KindField, "field", "the name or the id of a field", func(d *Document, id ID) { d.Marks[i].Field = id })
	if m.Get("field") != nil && k.FieldName != "" {
		m.Fault("field_name", shown(k.FieldName)+" beside a field", "one of the two")
	}
	m.checked(k.check(), "field")
	r.doc.Marks = append(r.doc.Marks, k)
}

const wantMoment = `a time such as "2026-05-14T13:05:10Z"`

func (m *members) moment(key string) time.Time {
	s, ok := m.Name(key, wantMoment)
	if !ok {
		return time.Time{}
	}
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil || t.Year() < minYear || t.Year() > maxYear {
		m.Fault(key, shown(s), wantMoment)
		return time.Time{}
	}
	return plainTime(t)
}

func (m *members) position(key string, n *statement.Node) (lonDeg, latDeg float64, ok bool) {
	if n.Kind != statement.KindList || len(n.Items) != 2 || n.Items[0].Kind != statement.KindNumber || n.Items[1].Kind != statement.KindNumber {
		m.Fault(key, what(n), "a place [longitude, latitude] in degrees WGS 84")
		return 0, 0, false
	}
	return n.Items[0].Num, n.Items[1].Num, true
}

// origins finds origins that several marks have.
func (r *reader) origins(marks []Mark) {
	seen := map[string]ID{}
	for i := range marks {
		m := &marks[i]
		if m.Origin == "" {
			continue
		}
		first, twice := seen[m.Origin]
		if !twice {
			seen[m.Origin] = m.ID
			continue
		}
		at, inFile := r.places[m.ID]
		if !inFile {
			at = r.places[first]
		}
		r.problem(at, "origin", shown(m.Origin)+", that of another mark", "that of no other mark, or the id of the one that it is")
	}
}
