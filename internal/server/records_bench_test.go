//go:build unix

package server

import (
	"context"
	"errors"
	"fmt"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"drawbar/internal/catalog"
	"drawbar/internal/records"
	"drawbar/internal/records/recordtest"
)

// A farm as large as the program has to bear.
const (
	benchFields   = 1000
	benchSeasons  = 20 // of each field, from 2007 on
	benchSessions = 5000
)

// benchFarm is its catalogue as a text.
func benchFarm() string {
	var b strings.Builder
	b.WriteString("schema: drawbar.catalog.1\nproducts:\n")
	for i := range 10 {
		fmt.Fprintf(&b, "- {name: Seed %d, kind: seed, thousand_kernel_g: 40, price: 480 EUR/t}\n", i)
		fmt.Fprintf(&b, "- {name: Granules %d, kind: granular, analysis: {n_pct: %d, p2o5_pct: 10, k2o_pct: 5, s_pct: 2}, price: 320 EUR/t}\n", i, 10+i)
		fmt.Fprintf(&b, "- {name: Guard %d, kind: crop protection, registration: R-%d, price: 12 EUR/l}\n", i, i)
	}
	b.WriteString("people:\n")
	for i := range 10 {
		fmt.Fprintf(&b, "- {name: driver %d, licence: L-%d}\n", i, i)
	}
	b.WriteString("fields:\n")
	for f := range benchFields {
		lon, lat := benchPlace(f)
		fmt.Fprintf(&b, "- name: Field %d\n  boundary: {type: Polygon, coordinates: [[[%[2]f, %[3]f], [%[4]f, %[3]f], [%[4]f, %[5]f], [%[2]f, %[5]f], [%[2]f, %[3]f]]]}\n  seasons:\n",
			f, lon-0.001, lat-0.001, lon+0.001, lat+0.001)
		for s := range benchSeasons {
			fmt.Fprintf(&b, "  - {crop: Crop %d, year: %d, plans: [{order: 1, operation: seeding, product: Seed %d, rate: 150 kg/ha}, {order: 2, operation: spreading, product: Granules %d, rate: 200 kg/ha}]}\n",
				(f+s)%8, 2007+s, (f+s)%10, f%10)
		}
	}
	return b.String()
}

func benchPlace(f int) (lon, lat float64) {
	return float64(f%40) * 0.003, 53.2 + float64(f/40)*0.003
}

// benchSession is one of its sessions: two fields in a day.
func benchSession(i int) recordtest.Session {
	at := time.Date(2007+i%benchSeasons, time.Month(3+i/benchSeasons%6), 1+i/120%28, 8, 0, 0, 0, time.UTC)
	lon, lat := benchPlace(i % benchFields)
	operation := []string{"seeding", "spreading", "spraying"}[i%3]
	s := recordtest.Session{
		Name: fmt.Sprintf("%06d-%s", i+1, at.Format("20060102T150405Z")), Start: at, LonDeg: lon, LatDeg: lat,
		Config: "implement: {name: drill, operation: " + operation + ", antenna_to_hitch_m: 0, mount: rigid, hitch_to_bar_m: 0, sections_m: [3, 3, 3, 3]}\n" +
			fmt.Sprintf("tanks: [{tank: 1, product: {name: Seed %d, kind: seed, thousand_kernel_g: 40}}, {tank: 2, product: {name: Granules %d, kind: granular}}]\n", i%10, i%10),
	}
	for k := range 2 {
		s.Jobs = append(s.Jobs, recordtest.Job{
			Say:    []string{fmt.Sprintf(`{"field":"Field %d","operation":%q,"person":"driver %d"}`, (i+k*40)%benchFields, operation, i%10)},
			Passes: 2, PassS: 12, TurnS: 3, SpeedMPS: 3, SpacingM: 12, NorthM: float64(k) * 330, PauseS: k * 110, Report: "tank.1.rate=150kg/ha tank.2.rate=200kg/ha",
			SayAt: map[int]string{12: fmt.Sprintf(`{"person":"driver %d"}`, (i+k)%10)},
		})
	}
	return s
}

var (
	benchOnce   sync.Once
	benchIndex  *records.Index
	benchCloser func()
	benchErr    error
)

// benchRecords works out all sessions once for all benchmarks of a run.
func benchRecords(b *testing.B) *records.Index {
	b.Helper()
	benchOnce.Do(func() { benchIndex, benchCloser, benchErr = makeBench() })
	if benchErr != nil {
		b.Fatal(benchErr)
	}
	return benchIndex
}

func makeBench() (*records.Index, func(), error) {
	ctx := context.Background()
	dir, err := os.MkdirTemp("", "drawbar-bench-")
	if err != nil {
		return nil, nil, err
	}
	for i := range benchSessions {
		if err := benchSession(i).Write(dir); err != nil {
			return nil, nil, err
		}
	}
	c, err := catalog.Open(ctx, dir)
	if err != nil {
		return nil, nil, err
	}
	if _, err := c.Import(ctx, "bench", []byte(benchFarm()), false); err != nil {
		return nil, nil, err
	}
	x, err := records.Open(ctx, records.Config{Dir: dir, Catalog: c})
	if err != nil {
		return nil, nil, err
	}
	working, stop := context.WithCancel(ctx)
	ended := make(chan error, 1)
	begin := time.Now()
	go func() { ended <- x.Run(working) }()
	err = x.Wait(ctx)
	took := time.Since(begin)
	info, statErr := os.Stat(filepath.Join(dir, records.FileName))
	if err = errors.Join(err, statErr); err != nil {
		stop()
		return nil, nil, err
	}
	fmt.Printf("%d sessions worked out in %v; work.db has %.1f MB\n", benchSessions, took.Round(time.Millisecond), float64(info.Size())/1e6)
	return x, func() {
		stop()
		<-ended
		x.Close()
		c.Close()
		os.RemoveAll(dir)
	}, nil
}

// Every call of recorded work on a large farm, JSON included.
//
//	go test ./internal/server -run XXX -bench Records
func BenchmarkRecords(b *testing.B) {
	s := serverOf(b, Config{Records: benchRecords(b)})
	b.Cleanup(benchCloser)
	session := benchSession(4711).Name
	for _, path := range []string{
		"/api/work", "/api/work?limit=500&offset=9000", "/api/work?field=Field%20711&season=2018", "/api/work?product=Seed%203&person=driver%203",
		"/api/work/" + session, "/api/work/" + session + "/1/record", "/api/work/" + session + "/1/complete", "/api/work/" + session + "/ground",
		"/api/totals?by=field", "/api/totals?by=field&limit=500", "/api/totals?by=field&season=2020", "/api/totals?by=crop", "/api/totals?by=product",
		"/api/totals?by=person", "/api/totals?by=season", "/api/totals?by=operation", "/api/totals?by=session", "/api/totals?by=season&product=Seed%203",
		"/api/totals?by=product&person=driver%203&from=2015-01-01&to=2018-12-31", "/api/progress?season=2020", "/api/progress?season=2020&limit=500&offset=1000",
	} {
		b.Run(strings.NewReplacer("/api/", "", session, "SESSION").Replace(path), func(b *testing.B) {
			b.ReportAllocs()
			begin := processorTime(b)
			var w *httptest.ResponseRecorder
			for b.Loop() {
				w = ask(s, "GET", path, "")
			}
			if w.Code != 200 || w.Body.Len() < 200 {
				b.Fatalf("got %d, %d bytes: %.200s", w.Code, w.Body.Len(), w.Body)
			}
			b.ReportMetric(float64((processorTime(b)-begin).Microseconds())/1000/float64(b.N), "cpu-ms/call")
			b.ReportMetric(float64(b.Elapsed().Microseconds())/1000/float64(b.N), "ms/call")
			b.ReportMetric(float64(w.Body.Len())/1000, "kB")
		})
	}
}
