package statement_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/replay/statement"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

func TestParseLine(t *testing.T) {
	t.Parallel()
	at := func(hour int) *time.Time { return new(time.Date(2026, 5, 14, hour, 5, 10, 0, time.UTC)) }
	kgHa := controller.Unit{Name: "kg/ha", Dim: controller.DimMassPerArea, ToSI: 1e-4}
	for _, c := range []struct {
		name, text string
		want       statement.Operator
	}{
		{"field", `{"field":"Mill Piece"}`, statement.Operator{Field: new("Mill Piece")}},
		{"operation", `{"operation":"seeding"}`, statement.Operator{Operation: new("seeding")}},
		{"person and note", `{"person":"contractor","note":"wet in the hollow,\nlifted"}`, statement.Operator{Person: new("contractor"), Note: new("wet in the hollow,\nlifted")}},
		{"nobody any more", `{"person":""}`, statement.Operator{Person: new("")}},
		{"boundary", `{"boundary":{"type":"Polygon","coordinates":[` + ring + `]}}`, statement.Operator{HasBoundary: true, Boundary: orb.MultiPolygon{{outline()}}}},
		{"boundary taken away", `{"boundary":null}`, statement.Operator{HasBoundary: true}},
		{"implement", `{"implement":{"name":"4 m drill","operation":"seeding","mount":"towed","hitch_to_axle_m":3,"hitch_to_bar_m":4.5,"bar_right_m":-0.2,"antenna_to_hitch_m":-1,"antenna_right_m":0.1,"sections_m":[2,2]}}`,
			statement.Operator{Implement: &coverage.Implement{
				Name: "4 m drill", Operation: "seeding", Mount: coverage.MountTowed, HitchToAxleM: 3, HitchToBarM: 4.5,
				BarRightM: -0.2, AntennaToHitchM: -1, AntennaRightM: 0.1, SectionsM: []float64{2, 2},
			}}},
		{"a rigid implement may state an axle", `{"implement":{"mount":"rigid","hitch_to_axle_m":0,"sections_m":[24]}}`, statement.Operator{Implement: &coverage.Implement{SectionsM: []float64{24}}}},
		{"the least of an implement", `{"implement":{"sections_m":[24]}}`, statement.Operator{Implement: &coverage.Implement{SectionsM: []float64{24}}}},
		{"tanks in ascending order", `{"tanks":[{"tank":2,"lag_s":0.5},{"tank":1,"product":{"name":"Oats","kind":"seed"},"target":"0 kg/ha"}]}`,
			statement.Operator{Tanks: []coverage.Tank{
				{Number: 1, Product: coverage.Product{Name: "Oats", Kind: coverage.KindSeed}, Target: controller.Quantity{Dim: controller.DimMassPerArea}, Unit: controller.Unit{Name: "kg/ha", Dim: controller.DimMassPerArea, ToSI: 1e-4}},
				{Number: 2, LagS: 0.5},
			}}},
		// 1500 kg of seeds that weigh 300 g a thousand are 5,000,000.
		{"a mass of counted seed", `{"tanks":[{"tank":1,"product":{"name":"Maize","kind":"seed","thousand_kernel_g":300},"target":"8 seeds/m2","capacity":"1500 kg"}]}`,
			statement.Operator{Tanks: []coverage.Tank{{
				Number: 1, Product: coverage.Product{Name: "Maize", Kind: coverage.KindSeed, ThousandKernelG: 300},
				Target:   controller.Quantity{SI: 8, Dim: controller.DimCountPerArea},
				Capacity: controller.Quantity{SI: 5e6, Dim: controller.DimCount},
				Unit:     controller.Unit{Name: "seeds/m2", Dim: controller.DimCountPerArea, ToSI: 1},
			}}}},
		{"seed treatment, in one word or two", `{"tanks":[{"tank":1,"product":{"name":"a","kind":"seed treatment"}},{"tank":2,"product":{"name":"b","kind":"seed_treatment"}}]}`,
			statement.Operator{Tanks: []coverage.Tank{
				{Number: 1, Product: coverage.Product{Name: "a", Kind: coverage.KindSeedTreatment}},
				{Number: 2, Product: coverage.Product{Name: "b", Kind: coverage.KindSeedTreatment}},
			}}},
		{"a product of no stated kind", `{"tanks":[{"tank":1,"product":{"name":"a"},"target":"2 l/m2"}]}`,
			statement.Operator{Tanks: []coverage.Tank{{
				Number: 1, Product: coverage.Product{Name: "a"}, Target: controller.Quantity{SI: 2, Dim: controller.DimVolumePerArea},
				Unit: controller.Unit{Name: "l/m2", Dim: controller.DimVolumePerArea, ToSI: 1},
			}}}},
		{"mark at the bar", `{"mark":{"kind":"stone","note":"big"}}`, statement.Operator{Mark: &statement.Mark{Kind: "stone", Note: "big"}}},
		{"mark at the bar, in words", `{"mark":{"kind":"stone","at":"bar"}}`, statement.Operator{Mark: &statement.Mark{Kind: "stone"}}},
		{"mark at the antenna", `{"mark":{"kind":"wet spot","at":"antenna"}}`, statement.Operator{Mark: &statement.Mark{Kind: "wet spot", At: statement.MarkAtAntenna}}},
		{"mark at a position", `{"mark":{"kind":"weeds","at":[0.1,53.4]}}`, statement.Operator{Mark: &statement.Mark{Kind: "weeds", At: statement.MarkAtPosition, LonDeg: 0.1, LatDeg: 53.4}}},
		{"mark withdrawn", `{"mark":{"undo":3}}`, statement.Operator{Mark: &statement.Mark{Undo: 3}}},
		{"mark settled", `{"mark":{"of":"000017-20260514T130510Z#3","done":true,"by":"second phone"}}`, statement.Operator{Mark: &statement.Mark{Of: "000017-20260514T130510Z#3", Done: true, By: "second phone"}}},
		{"weather", `{"weather":{"wind_mps":3,"wind_from_deg":250,"temperature_c":14,"humidity_pct":60}}`,
			statement.Operator{Weather: &statement.Weather{WindMPS: 3, WindFromDeg: 250, TemperatureC: 14, HumidityPct: 60,
				Has: statement.HasWind | statement.HasWindFrom | statement.HasTemperature | statement.HasHumidity}}},
		{"frost and nothing else", `{"weather":{"temperature_c":-0.0}}`, statement.Operator{Weather: &statement.Weather{Has: statement.HasTemperature}}},
		{"mark settled", `{"mark":{"of":"000017-20260514T130510Z#3","done":true}}`, statement.Operator{Mark: &statement.Mark{Of: "000017-20260514T130510Z#3", Done: true}}},
		{"mark open again, by whom", `{"mark":{"of":"a#b#12","done":false,"by":"the helper"}}`, statement.Operator{Mark: &statement.Mark{Of: "a#b#12", By: "the helper"}}},
		{"crop", `{"crop":"winter barley","growth_stage":0}`, statement.Operator{Crop: new("winter barley"), GrowthStage: new(0)}},
		{"crop not known any more", `{"crop":""}`, statement.Operator{Crop: new("")}},
		{"what changes of tanks, in ascending order", `{"adjust":[{"tank":2,"rate":"flow","lag_s":0},{"tank":1,"product":{"name":"Oats","kind":"seed"},"target":"150 kg/ha","capacity":"2 t","factor":1.034,"rate":"112 kg/ha"}]}`,
			statement.Operator{Adjust: []coverage.Adjust{
				{
					Tank: 1, Product: &coverage.Product{Name: "Oats", Kind: coverage.KindSeed}, Unit: kgHa, Factor: 1.034,
					Target: kgHa.Quantity(150), Capacity: controller.Quantity{SI: 2000, Dim: controller.DimMass},
					Rate: &coverage.RateRule{Basis: coverage.BasisFixed, Fixed: kgHa.Quantity(112), Unit: kgHa},
				},
				{Tank: 2, Rate: &coverage.RateRule{Basis: coverage.BasisFlow}, LagS: new(0.0)},
			}}},
		{"rate bases", `{"adjust":[{"tank":1,"rate":"reported"},{"tank":2,"rate":"target"}]}`,
			statement.Operator{Adjust: []coverage.Adjust{{Tank: 1, Rate: &coverage.RateRule{}}, {Tank: 2, Rate: &coverage.RateRule{Basis: coverage.BasisTarget}}}}},
		{"refill", `{"refill":{"tank":1,"amount":"1200 kg","lot":"L-204","person":"the operator"}}`,
			statement.Operator{Refill: &coverage.Refill{Tank: 1, Amount: controller.Quantity{SI: 1200, Dim: controller.DimMass}, Unit: controller.Unit{Name: "kg", Dim: controller.DimMass, ToSI: 1}, Lot: "L-204", Person: "the operator"}}},
		{"an empty tank", `{"refill":{"tank":3,"level":"0 l"}}`,
			statement.Operator{Refill: &coverage.Refill{Tank: 3, Level: controller.Quantity{Dim: controller.DimVolume}, Unit: controller.Unit{Name: "l", Dim: controller.DimVolume, ToSI: 1}}}},
		{"a weighed amount", `{"from":"2026-05-14T13:05:10Z","to":"2026-05-14T14:05:10Z","why":"weighed","by":"the manager","made":"2026-06-01T08:00:00+01:00","weighed":{"tank":1,"amount":"3210 kg","ticket":"T-88"}}`,
			statement.Operator{
				From: at(13), To: at(14), Why: new("weighed"), By: new("the manager"), Made: new(time.Date(2026, 6, 1, 7, 0, 0, 0, time.UTC)),
				Weighed: &coverage.Weighed{Tank: 1, Amount: controller.Quantity{SI: 3210, Dim: controller.DimMass}, Unit: controller.Unit{Name: "kg", Dim: controller.DimMass, ToSI: 1}, Ticket: "T-88"},
			}},
		{"correction", `{"from":"2026-05-14T13:05:10Z","to":"2026-05-14T16:05:10+02:00","why":"wrong field chosen","field":"Long Meadow"}`,
			statement.Operator{From: at(13), To: at(14), Why: new("wrong field chosen"), Field: new("Long Meadow")}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got, faults := statement.ParseLine([]byte(c.text))
			if len(faults) > 0 {
				t.Fatalf("faults %v", faults)
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

// What is at fault does not act, what is right beside it does.
func TestParseLineFaults(t *testing.T) {
	t.Parallel()
	field := statement.Operator{Field: new("Mill Piece")}
	nothing := statement.Operator{}
	for _, c := range []struct {
		name, text, want string
		acts             statement.Operator
	}{
		{"an empty object", `{}`, `1:1: got an empty object, want something stated, such as {"field":"Mill Piece"}`, nothing},
		{"no JSON", `field=Mill Piece`, "1:1: got text that is no JSON (…", nothing},
		{"unknown member", `{"field":"Mill Piece","filed":"x"}`, "1:23: filed: got an unknown key, want a known key (did you mean field?)", field},
		{"field that is empty", `{"field":""}`, "1:10: field: got an empty text, want the field's name", nothing},
		{"field as a number", `{"field":7}`, `1:10: field: got 7, want the field's name as a text in quotes: "7"`, nothing},
		{"field taken away", `{"field":null}`, "1:10: field: got nothing, want the field's name", nothing},
		{"boundary that is a Feature", `{"field":"Mill Piece","boundary":{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[` + ring + `]}}}`,
			"1:42: boundary.type: got Feature, want a GeoJSON geometry of type Polygon or MultiPolygon", field},
		{"boundary as a file's name", `{"boundary":"mill-piece.geojson"}`, `1:13: boundary: got the text "mill-piece.geojson", want a GeoJSON geometry of type Polygon or MultiPolygon`, nothing},
		{"implement", `{"implement":{"sections_m":[3,-3]},"field":"Mill Piece"}`, "1:31: implement.sections_m[1]: got -3, want a number of metres above 0, at most 100", field},
		{"one tank of two", `{"tanks":[{"tank":1,"lag_s":"4"},{"tank":2}]}`, `1:29: tanks[0].lag_s: got the text "4", want a number of seconds from 0 to 60`, statement.Operator{Tanks: []coverage.Tank{{Number: 2}}}},
		{"mark as a word", `{"mark":"stone"}`, `1:9: mark: got the text "stone", want keys with values: kind, note, at, undo, of, done, by`, nothing},
		{"mark without a kind", `{"mark":{"note":"here"}}`, "1:9: mark.kind: got nothing, want what it is, such as stone", nothing},
		{"mark of an empty kind", `{"mark":{"kind":" "}}`, "1:17: mark.kind: got an empty text, want what it is, such as stone", nothing},
		{"mark at the hitch", `{"mark":{"kind":"stone","at":"hitch"}}`, "1:30: mark.at: got hitch, want bar, antenna or a position [longitude, latitude]", nothing},
		{"mark beyond the pole", `{"mark":{"kind":"stone","at":[0.1,91]}}`, "1:30: mark.at: got [0.1, 91], want WGS 84 degrees, longitude (-180 to 180) before latitude (-90 to 90)", nothing},
		{"no mark withdrawn", `{"mark":{"undo":0}}`, "1:17: mark.undo: got 0, want a whole number from 1 to 1000000", nothing},
		{"mark left by somebody", `{"mark":{"kind":"stone","by":"Driver"}}`, `1:30: mark.by: got Driver, want of and done beside it: who says that a mark is settled`, nothing},
		{"mark withdrawn and left", `{"mark":{"undo":1,"kind":"stone"}}`, "1:17: mark.undo: got other members beside it, want undo alone: the number of the mark to withdraw", nothing},
		{"weather of nothing", `{"weather":{}}`, "1:12: weather: got nothing, want at least one of wind_mps, wind_from_deg, temperature_c, humidity_pct", nothing},
		{"wind against itself", `{"weather":{"wind_mps":-3}}`, "1:24: weather.wind_mps: got -3, want a number of metres a second from 0 to 120", nothing},
		{"wind from nowhere", `{"weather":{"wind_from_deg":361}}`, "1:29: weather.wind_from_deg: got 361, want a number of degrees from 0 to 360", nothing},
		{"humid beyond all", `{"weather":{"humidity_pct":101,"wind_mps":3}}`, "1:28: weather.humidity_pct: got 101, want a number of percent from 0 to 100",
			statement.Operator{Weather: &statement.Weather{WindMPS: 3, Has: statement.HasWind}}},
		{"degrees Fahrenheit", `{"weather":{"temperature_c":72}}`, "1:29: weather.temperature_c: got 72, want a number of degrees Celsius from -90 to 60", nothing},
		{"mark of no session", `{"mark":{"of":"#3","done":true}}`, "1:15: mark.of: got #3, want a mark as SESSION#N, such as 000017-20260514T130510Z#3", nothing},
		{"mark of no number", `{"mark":{"of":"000017-x#03","done":true}}`, "1:15: mark.of: got 000017-x#03, want a mark as SESSION#N, such as 000017-20260514T130510Z#3", nothing},
		{"mark that is not said to be settled", `{"mark":{"of":"000017-x#3"}}`, "1:9: mark.done: got nothing, want true where it is settled, false where it is open again", nothing},
		{"mark settled and left", `{"mark":{"of":"000017-x#3","done":true,"kind":"stone"}}`, "1:47: mark.kind: got it beside of, want of and done alone: a mark that is settled leaves no new one", nothing},
		{"growth stage beyond the scale", `{"growth_stage":100,"field":"Mill Piece"}`, "1:17: growth_stage: got 100, want a whole number from 0 to 99", field},
		{"growth stage between two", `{"growth_stage":1.5}`, "1:17: growth_stage: got 1.5, want a whole number from 0 to 99", nothing},
		{"nothing adjusted", `{"adjust":[{"tank":1}]}`, "1:12: adjust[0]: got a tank of which nothing changes, want at least one of product, target, capacity, lag_s, rate, factor", nothing},
		{"adjust of no tank", `{"adjust":[{"factor":2}]}`, "1:12: adjust[0].tank: got nothing, want the tank's number from 1 to 99", nothing},
		{"adjust as one tank", `{"adjust":{"tank":1,"factor":2}}`, "1:11: adjust: got a group of keys, want a list of tanks with what changes of each", nothing},
		{"a tank adjusted twice", `{"adjust":[{"tank":1,"factor":2},{"tank":1,"lag_s":1}]}`, "1:42: adjust[1].tank: got tank 1 a second time, want each tank's number once",
			statement.Operator{Adjust: []coverage.Adjust{{Tank: 1, Factor: 2}}}},
		{"a factor of none", `{"adjust":[{"tank":1,"factor":0},{"tank":2,"factor":5}]}`, "1:31: adjust[0].factor: got 0, want a number from 0.2 to 5",
			statement.Operator{Adjust: []coverage.Adjust{{Tank: 2, Factor: 5}}}},
		{"a rate of no basis", `{"adjust":[{"tank":1,"rate":"metered"}]}`, `1:29: adjust[0].rate: got metered, want reported, target, flow or an entered rate: a mass or a volume or seeds per area for a product of no stated kind, such as 112 kg/ha (…`, nothing},
		{"a rate that is an amount", `{"adjust":[{"tank":1,"rate":"112 kg"}]}`, `1:29: adjust[0].rate: got 112 kg, want reported, target, flow or an entered rate: a mass or a volume or seeds per area for a product of no stated kind, such as 112 kg/ha`, nothing},
		{"a liquid by weight", `{"adjust":[{"tank":1,"product":{"name":"Wash","kind":"liquid"},"target":"5 kg/ha"}]}`, `1:73: adjust[0].target: got 5 kg/ha, want a volume per area for a liquid, such as 80 l/ha`, nothing},
		{"refill of nothing", `{"refill":{"tank":1}}`, "1:11: refill: got neither amount nor level, want one of amount, what was added, and level, what is in the tank now", nothing},
		{"refill of both", `{"refill":{"tank":1,"amount":"1 kg","level":"1 kg"}}`, "1:11: refill: got both amount and level, want one of amount, what was added, and level, what is in the tank now", nothing},
		{"refill of a rate", `{"refill":{"tank":1,"amount":"1 kg/ha"}}`, "1:30: refill.amount: got 1 kg/ha, want a mass, a volume or seeds, such as 1200 kg", nothing},
		{"refill of zero", `{"refill":{"tank":1,"amount":"0 kg"}}`, "1:30: refill.amount: got 0 kg, want a mass, a volume or seeds, such as 1200 kg", nothing},
		{"less than nothing in it", `{"refill":{"tank":1,"level":"-1 kg"}}`, "1:29: refill.level: got -1 kg, want a mass, a volume or seeds, such as 1200 kg", nothing},
		{"weighed now", `{"weighed":{"tank":1,"amount":"1 kg"},"field":"Mill Piece"}`, "1:12: weighed: got it without a time, want it in a correction, with the from and to between which it was laid", field},
		{"an author of nothing", `{"by":"the manager","why":"x","from":"2026-05-14T13:05:10Z"}`, "1:1: to: got nothing, want from, to and why together in a correction", nothing},
		{"taken back in passing", `{"undo":3}`, "1:2: undo: got an unknown key, want one of …", nothing},
		// A correction that cannot be placed must not act as something said now.
		{"correction without an end", `{"from":"2026-05-14T13:05:10Z","why":"x","field":"Mill Piece"}`, "1:1: to: got nothing, want from, to and why together in a correction", nothing},
		{"correction without a reason", `{"from":"2026-05-14T13:05:10Z","to":"2026-05-14T14:05:10Z","field":"Mill Piece"}`, "1:1: why: got nothing, want from, to and why together in a correction", nothing},
		{"correction of no time", `{"from":"2026-05-14T13:05:10Z","to":"2026-05-14T13:05:10Z","why":"x","field":"Mill Piece"}`, "1:37: to: got 2026-05-14T13:05:10Z, want a time after from, 2026-05-14T13:05:10Z", nothing},
		{"correction at a local time", `{"from":"2026-05-14 13:05:10","to":"2026-05-14T14:05:10Z","why":"x"}`, "1:9: from: got 2026-05-14 13:05:10, want a time such as 2026-05-14T13:05:10Z", nothing},
		{"correction on a day that is none", `{"from":"2026-02-30T13:05:10Z","to":"2026-05-14T14:05:10Z","why":"x"}`, "1:9: from: got 2026-02-30T13:05:10Z, want a time such as 2026-05-14T13:05:10Z", nothing},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got, faults := statement.ParseLine([]byte(c.text))
			begin, free := strings.CutSuffix(c.want, "…")
			if len(faults) != 1 || faults[0].Error() != c.want && !(free && strings.HasPrefix(faults[0].Error(), begin)) {
				t.Errorf("of %s\n got %v\nwant %s", c.text, faults, c.want)
			}
			if diff := cmp.Diff(c.acts, got); diff != "" {
				t.Errorf("of %s what acts (-want +got):\n%s", c.text, diff)
			}
		})
	}
}

// A line that is written says the same when it is read.
func TestOperatorRoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		want := drawOperator(t)
		text, err := json.Marshal(want)
		if err != nil {
			t.Fatal(err)
		}
		got, faults := statement.ParseLine(text)
		if len(faults) > 0 {
			t.Fatalf("%s: %v", text, faults)
		}
		if diff := cmp.Diff(want, got, cmpopts.EquateEmpty()); diff != "" {
			t.Fatalf("%s (-want +got):\n%s", text, diff)
		}
	})
}

func drawOperator(t *rapid.T) (op statement.Operator) {
	name := rapid.StringMatching(`[A-Za-z0-9é"\\<&] ?[a-z ]{0,9}`)
	if rapid.Bool().Draw(t, "correction") {
		from := time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "from"), rapid.Int64Range(0, 999_999_999).Draw(t, "ns")).UTC()
		op.From, op.To, op.Why = &from, new(from.Add(time.Duration(rapid.Int64Range(1, 1e15).Draw(t, "for")))), new(name.Draw(t, "why"))
	}
	op.Field = new(name.Draw(t, "field"))
	op.Person, op.Note = new(name.Draw(t, "person")), new(name.Draw(t, "note")+"\n\t")
	if rapid.Bool().Draw(t, "operation?") {
		op.Operation = new(name.Draw(t, "operation"))
	}
	if op.HasBoundary = rapid.Bool().Draw(t, "boundary?"); op.HasBoundary && rapid.Bool().Draw(t, "outline?") {
		op.Boundary = orb.MultiPolygon{{outline(), hole()}}
	}
	if rapid.Bool().Draw(t, "implement?") {
		distance := rapid.Float64Range(-50, 50)
		op.Implement = &coverage.Implement{
			Name: name.Draw(t, "name"), AntennaToHitchM: distance.Draw(t, "a"), AntennaRightM: distance.Draw(t, "b"),
			HitchToAxleM: rapid.Float64Range(0.001, 50).Draw(t, "c"), HitchToBarM: distance.Draw(t, "d"), BarRightM: distance.Draw(t, "e"),
			Mount:     rapid.SampledFrom([]coverage.Mount{coverage.MountRigid, coverage.MountTowed}).Draw(t, "mount"),
			SectionsM: rapid.SliceOfN(rapid.Float64Range(0.001, 2), 1, 80).Draw(t, "sections"),
		}
	}
	for i := range rapid.IntRange(0, 3).Draw(t, "tanks") {
		op.Tanks = append(op.Tanks, drawTank(t, i+1))
	}
	if rapid.Bool().Draw(t, "mark?") {
		op.Mark = &statement.Mark{Kind: name.Draw(t, "kind"), Note: name.Draw(t, "note")}
		op.Mark.At = rapid.SampledFrom([]statement.MarkAt{statement.MarkAtBar, statement.MarkAtAntenna, statement.MarkAtPosition}).Draw(t, "at")
		if op.Mark.At == statement.MarkAtPosition {
			op.Mark.LonDeg, op.Mark.LatDeg = rapid.Float64Range(-180, 180).Draw(t, "lon"), rapid.Float64Range(-90, 90).Draw(t, "lat")
		}
	}
	if rapid.Bool().Draw(t, "weather?") {
		op.Weather = &statement.Weather{Has: statement.HasWind | statement.HasTemperature, WindMPS: rapid.Float64Range(0, 120).Draw(t, "wind"), TemperatureC: rapid.Float64Range(-90, 60).Draw(t, "temperature")}
	}
	if rapid.Bool().Draw(t, "crop?") {
		op.Crop, op.GrowthStage = new(name.Draw(t, "crop")), new(rapid.IntRange(0, 99).Draw(t, "stage"))
	}
	for i := range rapid.IntRange(0, 3).Draw(t, "adjustments") {
		op.Adjust = append(op.Adjust, drawAdjust(t, i+1))
	}
	if rapid.Bool().Draw(t, "refill?") {
		unit := drawUnit(t, "kg", "lb", "l", "gal", "seeds")
		op.Refill = &coverage.Refill{Tank: rapid.IntRange(1, 99).Draw(t, "tank"), Unit: unit, Lot: name.Draw(t, "lot")}
		if q := unit.Quantity(float64(rapid.IntRange(1, 9_999_999).Draw(t, "amount")) / 100); rapid.Bool().Draw(t, "level?") {
			op.Refill.Level = q
		} else {
			op.Refill.Amount = q
		}
	}
	if op.Correction() {
		op.By, op.Made = new(name.Draw(t, "by")), new(op.To.Add(time.Hour))
		unit := drawUnit(t, "kg", "lb")
		op.Weighed = &coverage.Weighed{Tank: 1, Unit: unit, Amount: unit.Quantity(float64(rapid.IntRange(1, 9_999_999).Draw(t, "weighed")) / 100), Ticket: name.Draw(t, "ticket")}
	}
	return op
}

func drawUnit(t *rapid.T, names ...string) controller.Unit {
	unit, err := controller.ParseUnit(rapid.SampledFrom(names).Draw(t, "unit"))
	if err != nil {
		t.Fatal(err)
	}
	return unit
}

func drawAdjust(t *rapid.T, number int) (a coverage.Adjust) {
	tank := drawTank(t, number)
	a.Tank, a.Factor = number, rapid.Float64Range(0.2, 5).Draw(t, "factor")
	if rapid.Bool().Draw(t, "product?") {
		a.Product, a.Target, a.Capacity, a.Unit = &tank.Product, tank.Target, tank.Capacity, tank.Unit
	}
	if rapid.Bool().Draw(t, "lag?") {
		a.LagS = &tank.LagS
	}
	if rapid.Bool().Draw(t, "rate?") {
		a.Rate = &coverage.RateRule{Basis: rapid.SampledFrom([]coverage.RateBasis{coverage.BasisReported, coverage.BasisTarget, coverage.BasisFlow, coverage.BasisFixed}).Draw(t, "basis")}
		if a.Rate.Basis == coverage.BasisFixed {
			a.Rate.Fixed, a.Rate.Unit = tank.Target, tank.Unit
		}
	}
	return a
}

func drawTank(t *rapid.T, number int) coverage.Tank {
	unit := drawUnit(t, "kg/ha", "lb/ac", "seeds/ac", "seeds/m2", "g/m2")
	tank := coverage.Tank{
		Number: number, Unit: unit, LagS: rapid.Float64Range(0, 60).Draw(t, "lag"),
		Product: coverage.Product{Name: "Oats", Kind: coverage.KindSeed, ThousandKernelG: rapid.Float64Range(0.01, 3000).Draw(t, "kernels")},
		// As a person writes it, with a few digits.
		Target: unit.Quantity(float64(rapid.IntRange(0, 9_999_999).Draw(t, "target")) / 100),
	}
	if rapid.Bool().Draw(t, "capacity?") {
		tank.Capacity = controller.Quantity{SI: rapid.Float64Range(0.001, 1e9).Draw(t, "capacity"), Dim: tank.Target.Dim.Amount()}
	}
	return tank
}

// No line makes the decoder panic. What acts is always within its bounds, and
// says the same when it is written and read again.
func FuzzOperator(f *testing.F) {
	for _, s := range []string{
		`{"field":"Mill Piece"}`, `{"boundary":null}`, `{"boundary":{"type":"Polygon","coordinates":[` + ring + `,` + island + `]}}`,
		`{"implement":{"name":"12 m drill","mount":"towed","hitch_to_axle_m":6,"hitch_to_bar_m":7.2,"sections_m":[3,3,3,3]}}`,
		`{"tanks":[{"tank":1,"product":{"name":"Oats","kind":"seed","thousand_kernel_g":38},"target":"112 kg/ha","capacity":"3800 kg","lag_s":4}]}`,
		`{"tanks":[{"tank":2,"product":{"name":"Wash","kind":"liquid"},"target":"8.2gal/ac","capacity":"400 gal"}]}`,
		`{"mark":{"kind":"stone","note":"big","at":[0.1,53.4]}}`, `{"weather":{"wind_mps":3,"wind_from_deg":250}}`,
		`{"mark":{"of":"000017-20260514T130510Z#3","done":true}}`, `{"crop":"oats","growth_stage":13}`,
		`{"adjust":[{"tank":1,"product":{"name":"Oats","kind":"seed","thousand_kernel_g":38},"target":"300 seeds/m2","capacity":"3800 kg","lag_s":3.5,"rate":"reported","factor":1.034}]}`,
		`{"adjust":[{"tank":1,"rate":"112 kg/ha"},{"tank":2,"rate":"target"},{"tank":3,"rate":"flow"}]}`,
		`{"refill":{"tank":1,"amount":"1200 kg","lot":"L-204","person":"the operator"}}`, `{"refill":{"tank":1,"level":"0 gal"}}`,
		`{"from":"2026-05-14T13:05:10Z","to":"2026-05-14T14:05:10Z","why":"x","by":"y","made":"2026-06-01T08:00:00+01:00","weighed":{"tank":1,"amount":"3210 kg","ticket":"T-88"}}`,
		`{"from":"2026-05-14T13:05:10Z","to":"2026-05-14T14:05:10Z","why":"x","field":"y"}`, `{"person":"","note":"\ud800"}`, `{"a":[[[[`, `{"a":1e999}`, `[]`, ``,
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, line []byte) {
		op, faults := statement.ParseLine(line)
		for _, fault := range faults {
			if s := fault.Error(); fault.Got == "" || fault.Want == "" || fault.Line < 1 || fault.Col < 1 || strings.ContainsAny(s, "\n\x1b") {
				t.Errorf("fault %+v of %q: want its place and one clean line", fault, line)
			}
		}
		text, err := json.Marshal(op)
		if err != nil {
			t.Fatalf("write what %q states: %v", line, err)
		}
		again, faults := statement.ParseLine(text)
		if cmp.Equal(op, statement.Operator{}) {
			return // nothing acts; an empty object says so
		}
		if len(faults) > 0 {
			t.Fatalf("%q is written as %s, which has faults %v", line, text, faults)
		}
		if diff := cmp.Diff(op, again, cmpopts.EquateEmpty()); diff != "" {
			t.Errorf("%q is written as %s (-first +again):\n%s", line, text, diff)
		}
	})
}
