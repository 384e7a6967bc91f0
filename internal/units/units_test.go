package units

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"drawbar/internal/testkit"
)

// shared is units.json, which other languages read too.
type shared struct {
	Systems  map[string]map[string]Unit `json:"systems"`
	Examples []struct {
		System   string  `json:"system"`
		Quantity string  `json:"quantity"`
		SI       float64 `json:"si"`
		Text     string  `json:"text"`
		Source   string  `json:"source"`
	} `json:"examples"`
}

func load(t *testing.T) shared {
	t.Helper()
	path := filepath.Join(testkit.ModuleRoot(t), "testdata", "units.json")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var s shared
	if err := json.Unmarshal(text, &s); err != nil {
		t.Fatalf("read %s: %v", path, err)
	}
	return s
}

func TestTableIsTheSharedOne(t *testing.T) {
	t.Parallel()
	want := load(t).Systems
	got := map[string]map[string]Unit{}
	for s := Metric; s < systems; s++ {
		got[s.String()] = map[string]Unit{}
		for q := Area; q < quantities; q++ {
			got[s.String()][q.String()] = s.Unit(q)
		}
	}
	// The factors are written out in decimal there: equal to rounding.
	near := cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) <= 1e-14*math.Abs(b) })
	if diff := cmp.Diff(want, got, near); diff != "" {
		t.Errorf("units.json and the table differ (-units.json +table):\n%s", diff)
	}
}

// Published figures, each named in its source.
func TestExamples(t *testing.T) {
	t.Parallel()
	examples := load(t).Examples
	if len(examples) < 10 {
		t.Fatalf("%d examples in units.json, want at least 10", len(examples))
	}
	for _, e := range examples {
		s, err := Parse(e.System)
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for q := Area; q < quantities; q++ {
			if q.String() != e.Quantity {
				continue
			}
			found = true
			if got := s.Show(q, e.SI); got != e.Text {
				t.Errorf("%s %s of %v = %q, want %q (%s)", e.System, e.Quantity, e.SI, got, e.Text, e.Source)
			}
		}
		if !found || e.Source == "" {
			t.Errorf("example %+v names no known quantity or no source", e)
		}
	}
}

func TestParse(t *testing.T) {
	t.Parallel()
	for s := Metric; s < systems; s++ {
		if got, err := Parse(s.String()); got != s || err != nil {
			t.Errorf("Parse(%q) = %v, %v", s, got, err)
		}
	}
	for _, bad := range []string{"", "Metric", "imperial"} {
		if _, err := Parse(bad); err == nil {
			t.Errorf("Parse(%q) was taken", bad)
		}
	}
}

func TestShowOddNumbers(t *testing.T) {
	t.Parallel()
	for si, want := range map[float64]string{
		-0.0001:                     "0.0 kg",
		math.Copysign(0, -1):        "0.0 kg",
		-12.34:                      "-12.3 kg",
		math.NaN():                  "unknown",
		math.Inf(1):                 "unknown",
		1234567.89:                  "1234567.9 kg",
		math.SmallestNonzeroFloat64: "0.0 kg",
	} {
		if got := Metric.Show(Mass, si); got != want {
			t.Errorf("Show(Mass, %v) = %q, want %q", si, got, want)
		}
	}
}

func TestAmountOf(t *testing.T) {
	t.Parallel()
	for unit, want := range map[string][2]string{"kg": {"12.0 kg", "120000.0 kg/ha"}, "l": {"12.0 L", "120000.0 L/ha"}, "seeds": {"12 seeds", "12.0 seeds/m2"}} {
		amount, rate, ok := AmountOf(unit)
		if got := [2]string{Metric.Show(amount, 12), Metric.Show(rate, 12)}; !ok || got != want {
			t.Errorf("AmountOf(%q): %v, %v, want %v", unit, got, ok, want)
		}
	}
	if _, _, ok := AmountOf("bushels"); ok {
		t.Error("AmountOf(bushels) was taken")
	}
}
