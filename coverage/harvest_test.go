package coverage

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"drawbar/internal/testkit"
	"drawbar/nmea"
)

// harvestRow is one row of a recorded harvest: where, when, and how far the
// machine's own sensor says it went since the row before.
type harvestRow struct {
	lat, lon, timeS, intervalS, distM float64
}

// harvest reads gartner.corn: a combine with twelve rows of 30 inches in one
// corn field in Minnesota, 2011, University of Minnesota Precision Agriculture
// Center, as published in the R package agridat (CC BY-SA 3.0).
func harvest(t *testing.T) []harvestRow {
	t.Helper()
	f, err := os.Open(filepath.Join(testkit.SharedData(t), "tracks", "corn-harvest-2011-part-1.csv"))
	if err != nil {
		t.Skipf("no recorded track: %v", err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []harvestRow
	for _, r := range records[1:] {
		var v [8]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(r[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		rows = append(rows, harvestRow{lon: v[0], lat: v[1], timeS: v[3], intervalS: v[4], distM: v[5] * 0.0254})
	}
	return rows
}

// The area that the machine's own distance sensor and its swath give is met
// within 0.5 %. The two differ for reasons that the record shows: over the
// intervals of 3 s, which are nearly all, positions add up to 0.9 % more than
// the sensor's distance; the 36 holes of more than 10 s that are not bridged
// hold 1.1 % of it; and in the intervals of up to 9 s around a turn the machine
// went further than it counted with its header down.
func TestHarvestTrack(t *testing.T) {
	t.Parallel()
	const swathM = 9.144 // twelve rows of 30 inches
	limits := DefaultLimits()
	limits.MaxGapS = 10
	e := NewEngine(Setup{Implement: rigid(swathM), Limits: limits, AlwaysOn: true})
	t0 := time.Date(2011, 11, 5, 18, 38, 3, 0, time.UTC)
	dist := 0.0
	for _, r := range harvest(t) {
		dist += r.distM
		e.Fix(nmea.Fix{Time: t0.Add(time.Duration(r.timeS) * time.Second), LatDeg: r.lat, LonDeg: r.lon, Quality: nmea.QualityDGNSS})
	}
	e.Finish()
	near(t, "the sensor's distance", dist, 18909.7, 0.05)
	op := e.Operations()[0]
	near(t, "gross against distance times swath", op.Gross.M2()/(dist*swathM), 1, 0.005)
	near(t, "gross against the track's length", op.Gross.M2()/(e.Totals().WorkingDistanceM*swathM), 1, 0.001)
	if got := e.Totals(); got.Gaps != 37 || got.OutOfOrder != 1 {
		t.Errorf("got %d gaps and %d fixes out of order, want 37 and 1", got.Gaps, got.OutOfOrder)
	}
}
