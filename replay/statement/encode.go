package statement

import (
	"encoding/json"
	"strconv"

	"drawbar/controller"
	"drawbar/coverage"

	"github.com/paulmach/orb"
)

// The JSON of what is decoded here: reading it again gives the same values.

// ImplementJSON is an implement as an operator line has it.
type ImplementJSON struct {
	Name            string    `json:"name,omitempty"`
	Operation       string    `json:"operation,omitempty"`
	AntennaToHitchM float64   `json:"antenna_to_hitch_m"`
	AntennaRightM   float64   `json:"antenna_right_m"`
	Mount           string    `json:"mount"`
	HitchToAxleM    float64   `json:"hitch_to_axle_m,omitempty"`
	HitchToBarM     float64   `json:"hitch_to_bar_m"`
	BarRightM       float64   `json:"bar_right_m"`
	SectionsM       []float64 `json:"sections_m"`
}

// EncodeImplement gives the JSON of im.
func EncodeImplement(im coverage.Implement) ImplementJSON {
	return ImplementJSON{
		Name: im.Name, Operation: im.Operation,
		AntennaToHitchM: im.AntennaToHitchM, AntennaRightM: im.AntennaRightM,
		Mount: MountName(im.Mount), HitchToAxleM: im.HitchToAxleM,
		HitchToBarM: im.HitchToBarM, BarRightM: im.BarRightM, SectionsM: im.SectionsM,
	}
}

// TankJSON is a tank as an operator line has it.
type TankJSON struct {
	Tank     int          `json:"tank"`
	Product  *ProductJSON `json:"product,omitempty"`
	Target   string       `json:"target,omitempty"`
	Capacity string       `json:"capacity,omitempty"`
	LagS     float64      `json:"lag_s"`
}

// ProductJSON is a product as an operator line has it.
type ProductJSON struct {
	Name            string  `json:"name"`
	Kind            string  `json:"kind,omitempty"`
	ThousandKernelG float64 `json:"thousand_kernel_g,omitempty"`
}

// EncodeTank gives the JSON of t, its target in the unit in which it was
// stated.
func EncodeTank(t coverage.Tank) TankJSON {
	j := TankJSON{
		Tank:     t.Number,
		Target:   QuantityText(t.Target, t.Unit),
		Capacity: QuantityText(t.Capacity, t.Unit),
		LagS:     t.LagS,
	}
	if p := t.Product; p.Name != "" {
		j.Product = encodeProduct(p)
	}
	return j
}

// EncodeTanks gives the JSON of a list of tanks; no tank is an empty list.
func EncodeTanks(tanks []coverage.Tank) []TankJSON {
	list := make([]TankJSON, len(tanks))
	for i, t := range tanks {
		list[i] = EncodeTank(t)
	}
	return list
}

// QuantityText writes q in unit u, such as "112 kg/ha", or in the SI unit where
// u measures something else or would not give exactly q when it is read again.
// It is "" for a quantity that was not stated.
func QuantityText(q controller.Quantity, u controller.Unit) string {
	if q.Dim == controller.DimNone {
		return ""
	}
	if v, ok := q.In(u); ok {
		for digits := 6; digits <= 17; digits++ {
			s := plainNumber(v, digits)
			back, err := strconv.ParseFloat(s, 64)
			if err == nil && u.Quantity(back) == q {
				return s + " " + u.Name
			}
		}
	}
	return plainNumber(q.SI, -1) + " " + q.Dim.SIUnit()
}

// plainNumber writes v with so many digits, -1 for as many as it takes, and no
// exponent.
func plainNumber(v float64, digits int) string {
	if digits > 0 {
		v, _ = strconv.ParseFloat(strconv.FormatFloat(v, 'g', digits, 64), 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

type markJSON struct {
	Kind string `json:"kind,omitempty"`
	Note string `json:"note,omitempty"`
	At   any    `json:"at,omitempty"`
	Undo int    `json:"undo,omitempty"`
	Of   string `json:"of,omitempty"`
	Done *bool  `json:"done,omitempty"`
	By   string `json:"by,omitempty"`
}

type weatherJSON struct {
	WindMPS      *float64 `json:"wind_mps,omitempty"`
	WindFromDeg  *float64 `json:"wind_from_deg,omitempty"`
	TemperatureC *float64 `json:"temperature_c,omitempty"`
	HumidityPct  *float64 `json:"humidity_pct,omitempty"`
}

type geometryJSON struct {
	Type        string           `json:"type"`
	Coordinates orb.MultiPolygon `json:"coordinates"`
}

type operatorJSON struct {
	From      string          `json:"from,omitempty"`
	To        string          `json:"to,omitempty"`
	Why       *string         `json:"why,omitempty"`
	By        *string         `json:"by,omitempty"`
	Made      string          `json:"made,omitempty"`
	Field     *string         `json:"field,omitempty"`
	Boundary  json.RawMessage `json:"boundary,omitempty"`
	Operation *string         `json:"operation,omitempty"`
	Implement *ImplementJSON  `json:"implement,omitempty"`
	Tanks     []TankJSON      `json:"tanks,omitempty"`
	Mark      *markJSON       `json:"mark,omitempty"`
	Person    *string         `json:"person,omitempty"`
	Note      *string         `json:"note,omitempty"`
	Weather   *weatherJSON    `json:"weather,omitempty"`
	Crop      *string         `json:"crop,omitempty"`
	Stage     *int            `json:"growth_stage,omitempty"`
	Adjust    []AdjustJSON    `json:"adjust,omitempty"`
	Refill    *RefillJSON     `json:"refill,omitempty"`
	Weighed   *WeighedJSON    `json:"weighed,omitempty"`
}

// MarshalJSON writes the operator line that states op.
func (op Operator) MarshalJSON() ([]byte, error) {
	j := operatorJSON{
		Why: op.Why, Field: op.Field, Operation: op.Operation, Person: op.Person, Note: op.Note,
		Tanks: EncodeTanks(op.Tanks), Mark: encodeMark(op.Mark), Weather: encodeWeather(op.Weather),
		From: stampOf(op.From), To: stampOf(op.To), By: op.By, Made: stampOf(op.Made),
		Crop: op.Crop, Stage: op.GrowthStage, Adjust: EncodeAdjusts(op.Adjust),
		Refill: encodeRefill(op.Refill), Weighed: encodeWeighed(op.Weighed),
	}
	if op.Implement != nil {
		im := EncodeImplement(*op.Implement)
		j.Implement = &im
	}
	if op.HasBoundary {
		j.Boundary = json.RawMessage("null")
		if op.Boundary != nil {
			b, err := json.Marshal(geometryJSON{Type: "MultiPolygon", Coordinates: op.Boundary})
			if err != nil {
				return nil, err
			}
			j.Boundary = b
		}
	}
	return json.Marshal(j)
}

func encodeMark(m *Mark) *markJSON {
	if m == nil {
		return nil
	}
	if m.Undo != 0 {
		return &markJSON{Undo: m.Undo}
	}
	if m.Of != "" {
		return &markJSON{Of: m.Of, Done: &m.Done, By: m.By}
	}
	j := &markJSON{Kind: m.Kind, Note: m.Note, At: "bar"}
	switch m.At {
	case MarkAtAntenna:
		j.At = "antenna"
	case MarkAtPosition:
		j.At = []float64{m.LonDeg, m.LatDeg}
	}
	return j
}

func encodeWeather(w *Weather) *weatherJSON {
	if w == nil {
		return nil
	}
	stated := func(has WeatherHas, v float64) *float64 { return pointer(v, w.Has&has != 0) }
	return &weatherJSON{
		WindMPS: stated(HasWind, w.WindMPS), WindFromDeg: stated(HasWindFrom, w.WindFromDeg),
		TemperatureC: stated(HasTemperature, w.TemperatureC), HumidityPct: stated(HasHumidity, w.HumidityPct),
	}
}
