package catalog

import (
	"drawbar/controller"
)

// Plan is one product in one season of a field. Plans of the same order go on
// together.
type Plan struct {
	Meta
	Season    ID
	Order     int // from 1
	Operation string
	Product   ID
	Rate      Rate
	Tank      int // 0 = any
	Note      string
}

const (
	maxOrder = 10_000
	maxTank  = 99
)

func (l *Plan) check() (p problems) {
	p.id("season", l.Season, "the season")
	p.id("product", l.Product, "the product")
	p.whole("order", l.Order, 1, maxOrder)
	p.whole("tank", l.Tank, 0, maxTank)
	p.name("operation", l.Operation, "an operation such as seeding")
	p.note(l.Note)
	p.rate("rate", l.Rate, anyRate(), "a rate with its unit, such as 180 kg/ha")
	return p
}

func anyRate() []controller.Dim {
	return []controller.Dim{controller.DimMassPerArea, controller.DimVolumePerArea, controller.DimCountPerArea}
}

// fits checks the rate against the product that it is of.
func (l *Plan) fits(product Product) (p problems) {
	p.rate("rate", l.Rate, product.Kind.rates(), product.Kind.wantRate())
	return p
}
