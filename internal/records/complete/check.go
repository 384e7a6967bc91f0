package complete

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// All lays every text beside the operation, in the order of Rules.
func All(op Operation) []Checklist {
	out := make([]Checklist, 0, ruleSets)
	for r := range ruleSets {
		out = append(out, Check(r, op))
	}
	return out
}

// Check lays one text beside the operation. An operation without products is taken to
// have had one of which nothing is known. An r that is none gives an empty list.
func Check(r Rules, op Operation) Checklist {
	if r >= ruleSets {
		return Checklist{Rules: r, Concerned: No, Why: "no such rules"}
	}
	if len(op.Products) == 0 {
		op.Products = []Product{{}}
	}
	text := texts()[r]
	list := Checklist{Rules: r, Title: text.title, Notes: slices.Clone(text.notes)}
	list.Concerned, list.Why = text.concerned(op)
	if list.Concerned == No {
		return list
	}
	if last := lastDay(op); !last.IsZero() {
		if text.recordDays > 0 {
			list.RecordBy = last.AddDate(0, 0, text.recordDays+1)
		}
		list.KeepUntil = last.AddDate(text.keepYears, 0, 0)
	}
	for _, a := range text.asks {
		if !a.ofProduct {
			list.Elements = append(list.Elements, a.element(op, -1))
			continue
		}
		for i, p := range op.Products {
			if text.of(p) != No {
				list.Elements = append(list.Elements, a.element(op, i))
			}
		}
	}
	return list
}

// lastDay is midnight of the day on which the work ended; zero = not known.
func lastDay(op Operation) time.Time {
	at := op.End
	if at.IsZero() {
		at = op.Start
	}
	if at.IsZero() {
		return at
	}
	y, m, d := at.In(op.zone()).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, op.zone())
}

func (op Operation) zone() *time.Location {
	if op.Zone == nil {
		return time.UTC
	}
	return op.Zone
}

// element lays one question of a text beside the operation.
func (a ask) element(op Operation, i int) Element {
	known := kinds()[a.id]
	e := Element{ID: a.id, Product: i, Words: a.words, Source: a.source, When: "always", Value: known.value(op, i), Where: known.where}
	needed := Yes
	if a.needed != nil {
		e.When, needed = a.when, a.needed(op, i)
	}
	switch {
	case e.Value != "":
		e.State = Present
	case needed == Yes:
		e.State = Missing
	case needed == No:
		e.State = NotApplicable
	default:
		e.State = Depends
	}
	switch e.State {
	case Present:
		e.Doubt = op.doubt(a.id, i)
	case Missing, Depends:
		e.Enter = known.enter
	}
	return e
}

func (op Operation) doubt(id ID, i int) string {
	var out []string
	for _, d := range op.Doubts {
		all := d.Product < 0 || d.Product >= len(op.Products)
		if d.Element == id && (all || i < 0 || d.Product == i) {
			out = append(out, d.Text)
		}
	}
	return strings.Join(out, "; ")
}

// ofSome is yes where a product answers yes, no where all say no.
func ofSome(op Operation, of func(Product) Answer) Answer {
	out := No
	for _, p := range op.Products {
		switch of(p) {
		case Yes:
			return Yes
		case Unsaid:
			out = Unsaid
		}
	}
	return out
}

// names lists the products that answer so.
func names(op Operation, of func(Product) Answer, want Answer) string {
	var out []string
	for i, p := range op.Products {
		if of(p) != want {
			continue
		}
		if p.Name == "" {
			out = append(out, fmt.Sprintf("product %d", i+1))
		} else {
			out = append(out, p.Name)
		}
	}
	return strings.Join(out, ", ")
}
