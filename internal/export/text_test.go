package export

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"drawbar/internal/testkit"
	"drawbar/internal/units"
	"drawbar/replay"
)

func ptr[T any](v T) *T { return &v }

// full has something to say on every line.
func full() replay.Summary {
	return replay.Summary{
		GNSS:       replay.GNSSFigures{Lines: 37540, Sentences: 37538, BadChecksum: 1, Unparsed: 2, Fixes: 18769, Gaps: 1, GapS: 12.04},
		Controller: replay.ControllerFigures{Lines: 6254, Reports: 6250, Rejected: 4, StaleS: 61.5},
		Start:      ptr("2026-05-14T13:05:10.200Z"), End: ptr("2026-05-14T14:07:44.000Z"),
		WorkingS: 3130, DistanceM: 8420, WorkingDistanceM: 6900,
		Operations: []replay.OperationFigures{
			{
				Field: "Mill Piece", Operation: "seeding", Start: ptr("2026-05-14T13:05:12.000Z"), End: ptr("2026-05-14T14:07:40.900Z"),
				Area:      replay.AreaFigures{FieldM2: ptr(130_000.0), GrossM2: 125_790, CoveredM2: 123_450, OverlapM2: 2340, SkipM2: ptr(55.0), RemainingM2: ptr(6495.0), OutsideM2: ptr(0.0)},
				OverlapBy: replay.OverlapFigures{HeadlandM2: 40, BetweenPassesM2: 2000, SectionsM2: 300},
				Products: []replay.ProductFigures{
					{Tank: 1, Name: "Spring oats", Unit: "kg", Applied: ptr(1385.2), AreaM2: 125_790, MeanRate: ptr(0.01101200), MeanTarget: ptr(0.0112)},
					{Tank: 2, Name: "Starter 8-20-5", Unit: "l", Applied: ptr(628.95), AreaM2: 125_790, MeanRate: ptr(0.005), MeanTarget: nil},
					{Tank: 3, Name: "", Unit: "seeds", Applied: nil, AreaM2: 125_790},
					{Tank: 4, Name: "Grit", Unit: "", AreaM2: 10_000},
				},
			},
			{},
		},
		Marks: []replay.MarkFigures{
			{Kind: "stone", Note: `by the "old" oak`, Time: "2026-05-14T13:20:11.500Z", Lon: ptr(-0.0012), Lat: ptr(53.3781)},
			{Kind: "wet spot", Time: "2026-05-14T13:25:00.000Z", Lon: ptr(150.25), Lat: ptr(-27.5)},
			{Kind: "weeds", Time: "2026-05-14T13:04:00.000Z"},
		},
		Warnings: []string{"jumps between fixes: 2; nothing was painted across them"},
	}
}

// The figures in the golden files by hand: 123 450 m2 = 12.345 ha = 30.505 ac
// (4046.8564224 m2 an acre); 1385.2 kg = 3053.8 lb (0.45359237 kg a pound);
// 0.011012 kg/m2 = 110.12 kg/ha = 98.2 lb/ac (0.892179 by NIST SP 811's pound and
// the international acre); 628.95 l = 166.2 gal (3.785411784 l a gallon).
func TestTextGolden(t *testing.T) {
	t.Parallel()
	london, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	regina, err := time.LoadLocation("America/Regina")
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]Text{
		"metric":   {Units: units.Metric, Zone: london},
		"us":       {Units: units.US},
		"canadian": {Units: units.Canadian, Zone: regina},
	} {
		testkit.Golden(t, filepath.Join("testdata", "text", name+".txt"), text.Append(nil, full()))
	}
	testkit.Golden(t, filepath.Join("testdata", "text", "nothing.txt"), Text{}.Append(nil, replay.Summary{}))
}

// A summary is appended behind what is there, and says nothing else.
func TestTextAppends(t *testing.T) {
	t.Parallel()
	got := string(Text{}.Append([]byte("before\n"), full()))
	if want := "before\n" + string(Text{}.Append(nil, full())); got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	for line := range strings.Lines(got) {
		if strings.TrimRight(line, "\n") != strings.TrimRight(line, " \n") {
			t.Errorf("line %q ends in blanks", line)
		}
	}
}

// Recorded text cannot steer the terminal it is shown on.
func TestTextIsPlain(t *testing.T) {
	t.Parallel()
	const evil = "\x1b[2J\r\n\x07"
	s := full()
	s.Operations[0].Field, s.Operations[0].Operation = evil, evil
	s.Operations[0].Products[0].Name = evil
	s.Marks[0].Kind, s.Marks[0].Note = evil, evil
	s.Warnings = []string{evil}
	got := string(Text{}.Append(nil, s))
	if want := strings.Count(string(Text{}.Append(nil, full())), "\n"); strings.ContainsAny(got, "\x1b\r\x07") || strings.Count(got, "\n") != want {
		t.Errorf("control characters came through: %q", got)
	}
}

func TestDuration(t *testing.T) {
	t.Parallel()
	for in, want := range map[float64]string{0: "0.0 s", 59.94: "59.9 s", 60: "1 min 00 s", 3599.4: "59 min 59 s", 3599.6: "1 h 00 min", 45_000: "12 h 30 min", 90_061: "25 h 01 min"} {
		if got := duration(in); got != want {
			t.Errorf("duration(%v) = %q, want %q", in, got, want)
		}
	}
}
