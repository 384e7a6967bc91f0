package catalog

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"drawbar/controller"
)

// Price is what an amount of a product costs, as 320 EUR/t or 95 EUR/50000 seeds;
// the zero value is not stated.
type Price struct {
	Amount   float64         // money, in Currency
	Currency string          // three capitals of ISO 4217, such as EUR
	Of       float64         // how many of Per that is for
	Per      controller.Unit // of a mass, a volume or a count
}

const (
	wantPrice = "a price with currency and unit, such as 320 EUR/t, 1.35 GBP/l or 95 EUR/50000 seeds"
	minMoney  = 1e-6 // below and above it is a slip of the unit
	maxMoney  = 1e9
)

// Stated tells whether there is a price.
func (p Price) Stated() bool { return p.Currency != "" }

// String is "320 EUR/t", "" where it is not stated. ParsePrice gives the same price.
func (p Price) String() string {
	if !p.Stated() {
		return ""
	}
	of := ""
	if p.Of != 1 {
		of = plainFloat(p.Of) + " "
	}
	return plainFloat(p.Amount) + " " + p.Currency + "/" + of + p.Per.Name
}

func plainFloat(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// ParsePrice reads a number, a currency and what it is for; "" is not stated.
func ParsePrice(s string) (p Price, err error) {
	s = strings.TrimSpace(s)
	if s == "" {
		return Price{}, nil
	}
	wrong := func() (Price, error) { return Price{}, fmt.Errorf("%s: want %s", shown(s), wantPrice) }
	money, per, ok := strings.Cut(s, "/")
	money = strings.TrimSpace(money)
	if !ok || len(money) < 4 {
		return wrong()
	}
	p.Currency = money[len(money)-3:]
	if p.Amount, ok = decimal(money[:len(money)-3]); !ok || strings.Trim(p.Currency, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") != "" {
		return wrong()
	}
	per = strings.TrimSpace(per)
	unit := strings.TrimLeft(per, "0123456789.")
	p.Of = 1
	if digits := per[:len(per)-len(unit)]; digits != "" {
		if p.Of, ok = decimal(digits); !ok {
			return wrong()
		}
	}
	if p.Per, err = controller.ParseUnit(strings.TrimSpace(unit)); err != nil {
		return wrong()
	}
	if len(p.check()) > 0 {
		return wrong()
	}
	return p, nil
}

// decimal reads digits with at most one point.
func decimal(s string) (float64, bool) {
	s = strings.TrimSpace(s)
	if s == "" || strings.Trim(s, "0123456789.") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil
}

func (p Price) check() (is problems) {
	capitals := len(p.Currency) == 3 && strings.Trim(p.Currency, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == ""
	amount := p.Per.Dim == controller.DimMass || p.Per.Dim == controller.DimVolume || p.Per.Dim == controller.DimCount
	switch {
	case !capitals, !amount, p.Amount != 0 && !(p.Amount >= minMoney && p.Amount <= maxMoney), !(p.Of >= minMoney && p.Of <= maxMoney):
		is.add("price", orNothing(p.String()), wantPrice)
	}
	return is
}

// fits checks the price against the kind of product that it is of.
func (p Price) fits(k ProductKind) (is problems) {
	if k == Seed && p.Per.Dim == controller.DimVolume {
		is.add("price", p.String(), "a price of a mass or of seeds, such as 480 EUR/t or 95 EUR/50000 seeds")
	}
	if k != Seed && p.Per.Dim == controller.DimCount {
		is.add("price", p.String(), "a price of a mass or a volume, such as 320 EUR/t or 1.35 GBP/l")
	}
	return is
}

// Cost is what an amount of the product costs, in the currency of its price: of
// another measure than the price's by the product's density or the weight of a
// thousand kernels. It is not known without a price, or where the one cannot be
// carried to the other.
func (b Book) Cost(id ID, amount controller.Quantity) (money float64, currency string, ok bool) {
	p := b.products[id]
	if p == nil || !p.Price.Stated() || !(amount.SI >= 0) || amount.Dim != amount.Dim.Amount() {
		return 0, "", false
	}
	to := p.Price.Per.Dim
	if amount.Dim != to {
		if amount, ok = carried(amount, to, b.Of(id).DensityKgPerL, p.ThousandKernelG); !ok {
			return 0, "", false
		}
	}
	money = float64(p.Price.Amount*amount.SI) / float64(p.Price.Of*p.Price.Per.ToSI)
	if math.IsNaN(money) || math.IsInf(money, 0) {
		return 0, "", false
	}
	return money, p.Price.Currency, true
}

// carried is an amount in another measure.
func carried(q controller.Quantity, to controller.Dim, densityKgPerL, thousandKernelG float64) (controller.Quantity, bool) {
	switch {
	case q.Dim == controller.DimVolume && to == controller.DimMass && densityKgPerL > 0:
		return controller.Quantity{SI: float64(q.SI * densityKgPerL), Dim: to}, true
	case q.Dim == controller.DimMass && to == controller.DimVolume && densityKgPerL > 0:
		return controller.Quantity{SI: q.SI / densityKgPerL, Dim: to}, true
	case q.Dim == controller.DimVolume || to == controller.DimVolume || thousandKernelG <= 0:
		return controller.Quantity{}, false
	}
	return q.As(to, thousandKernelG)
}
