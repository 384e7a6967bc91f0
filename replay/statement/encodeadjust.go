package statement

import "drawbar/coverage"

// AdjustJSON is what changes of a tank as an operator line has it.
type AdjustJSON struct {
	Tank     int          `json:"tank"`
	Product  *ProductJSON `json:"product,omitempty"`
	Target   string       `json:"target,omitempty"`
	Capacity string       `json:"capacity,omitempty"`
	LagS     *float64     `json:"lag_s,omitempty"`
	Rate     string       `json:"rate,omitempty"`
	Factor   float64      `json:"factor,omitempty"` // ratio
}

// RefillJSON is a refill as an operator line has it.
type RefillJSON struct {
	Tank   int    `json:"tank"`
	Amount string `json:"amount,omitempty"`
	Level  string `json:"level,omitempty"`
	Lot    string `json:"lot,omitempty"`
	Person string `json:"person,omitempty"`
}

// WeighedJSON is a weighed amount as a correction has it.
type WeighedJSON struct {
	Tank   int    `json:"tank"`
	Amount string `json:"amount"`
	Ticket string `json:"ticket,omitempty"`
}

// EncodeAdjusts gives the JSON of what changes of tanks.
func EncodeAdjusts(list []coverage.Adjust) []AdjustJSON {
	var out []AdjustJSON
	for _, a := range list {
		j := AdjustJSON{
			Tank: a.Tank, Target: QuantityText(a.Target, a.Unit), Capacity: QuantityText(a.Capacity, a.Unit),
			LagS: a.LagS, Factor: a.Factor,
		}
		if p := a.Product; p != nil {
			j.Product = encodeProduct(*p)
		}
		if a.Rate != nil {
			j.Rate = RateRuleText(*a.Rate)
		}
		out = append(out, j)
	}
	return out
}

// RateRuleText is the word for a rate basis, or the entered rate.
func RateRuleText(r coverage.RateRule) string {
	if words := rateBases(); int(r.Basis) < len(words) {
		return words[r.Basis]
	}
	return QuantityText(r.Fixed, r.Unit)
}

func encodeProduct(p coverage.Product) *ProductJSON {
	return &ProductJSON{Name: p.Name, Kind: ProductKindName(p.Kind), ThousandKernelG: p.ThousandKernelG}
}

func encodeRefill(r *coverage.Refill) *RefillJSON {
	if r == nil {
		return nil
	}
	return &RefillJSON{Tank: r.Tank, Amount: QuantityText(r.Amount, r.Unit), Level: QuantityText(r.Level, r.Unit), Lot: r.Lot, Person: r.Person}
}

func encodeWeighed(w *coverage.Weighed) *WeighedJSON {
	if w == nil {
		return nil
	}
	return &WeighedJSON{Tank: w.Tank, Amount: QuantityText(w.Amount, w.Unit), Ticket: w.Ticket}
}
