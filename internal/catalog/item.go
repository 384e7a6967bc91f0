package catalog

import (
	"strings"

	"drawbar/controller"
	"drawbar/replay/statement"
)

// Meta is what every item has.
type Meta struct {
	ID       ID    // made by Add where it is empty
	Revision int64 // grows by one with each change, from 1; kept by the catalogue
	Archived bool  // no longer offered; kept for what refers to it
}

// Kind is a kind of item.
type Kind uint8

// The kinds of items.
const (
	KindField Kind = iota
	KindSeason
	KindPlan
	KindImplement
	KindTractor
	KindProduct
	KindPerson
	KindMark
	kinds
)

// String is the kind in words, as "field".
func (k Kind) String() string {
	return [...]string{"field", "season", "plan", "implement", "tractor", "product", "person", "mark"}[min(k, kinds-1)]
}

// Rate is a rate with the unit in which it was stated; the zero value is "not
// stated".
type Rate struct {
	controller.Quantity
	Unit controller.Unit
}

// Stated tells whether there is a rate.
func (r Rate) Stated() bool { return r.Dim != controller.DimNone }

// String is "180 kg/ha", "" where it is not stated. ParseRate gives the same rate.
func (r Rate) String() string { return statement.QuantityText(r.Quantity, r.Unit) }

// ParseRate reads a number with its unit; "" is not stated.
func ParseRate(s string) (Rate, error) {
	if s == "" {
		return Rate{}, nil
	}
	q, u, err := controller.ParseQuantityUnit(s, controller.Unit{})
	if err != nil {
		return Rate{}, err
	}
	return Rate{Quantity: q, Unit: u}, nil
}

// nameKey is a name as it is compared: the case of letters and blanks around it do
// not matter.
func nameKey(name string) string { return strings.ToLower(strings.TrimSpace(name)) }
