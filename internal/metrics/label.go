package metrics

import (
	"strconv"
	"strings"
	"unicode/utf8"

	"drawbar/coverage"
)

// Bounds of labels whose text a person chose.
const (
	maxLabel    = 100 // bytes
	maxProducts = 32  // series of the operation in hand; further ones go under otherLabel
	otherLabel  = "other"
)

// clean makes text a label value: valid UTF-8 of bounded length.
func clean(text string) string {
	text = strings.ToValidUTF8(text, "?")
	if len(text) <= maxLabel {
		return text
	}
	end := maxLabel
	for !utf8.RuneStart(text[end]) {
		end--
	}
	return text[:end]
}

func tankLabel(number int) string { return strconv.Itoa(number) }

// amount is what was put down under one set of labels.
type amount struct {
	tank, product, unit string
	amount              float64
}

// sumApplied adds up what has the same labels: a product whose description was
// changed counts as two in an operation. Order is that of first use.
func sumApplied(products []coverage.ProductNow) []amount {
	var out []amount
	for _, p := range products {
		if !p.HasApplied || p.Unit == "" {
			continue
		}
		a := amount{tankLabel(p.Tank), clean(p.Product), p.Unit, p.AppliedAmount}
		if find(out, a) < 0 && len(out) >= maxProducts {
			a.tank, a.product = otherLabel, otherLabel
		}
		if i := find(out, a); i >= 0 {
			out[i].amount += a.amount
		} else {
			out = append(out, a)
		}
	}
	return out
}

func find(list []amount, a amount) int {
	for i, b := range list {
		if b.tank == a.tank && b.product == a.product && b.unit == a.unit {
			return i
		}
	}
	return -1
}
