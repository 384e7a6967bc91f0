//go:build unix

package server

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"drawbar/internal/boundary"
	"drawbar/internal/catalog"
	"drawbar/internal/live"

	"github.com/paulmach/orb"
)

// A large farm: as many fields, seasons of each and recorded sessions as any call has
// to do with in less than 20 ms.
const (
	largeFields   = 1000
	largeSeasons  = 20
	largeSessions = 5000
)

// large is that farm, with the catalogue in a file as the daemon has it.
type large struct {
	desk
	known   []boundary.Field
	catalog *catalog.Catalog
	shelf   shelf
	field   string // id of the last field, and of its last season
	season  string
}

func (l *large) Known() []boundary.Field { return l.known }

// largeFarm makes 1,000 fields of 100 corners, 20 seasons of each, two plans in the
// last; 20 products, 10 people.
func largeFarm(b *testing.B) *large {
	b.Helper()
	l := &large{}
	var d catalog.Document
	meta := func() catalog.Meta { return catalog.Meta{ID: catalog.NewID()} }
	rate, err := catalog.ParseRate("180 kg/ha")
	if err != nil {
		b.Fatal(err)
	}
	for i := range 20 {
		d.Products = append(d.Products, catalog.Product{Meta: meta(), Name: fmt.Sprintf("Firth oats %02d", i), Kind: catalog.Seed})
	}
	for i := range 10 {
		d.People = append(d.People, catalog.Person{Meta: meta(), Name: fmt.Sprintf("Operator %02d", i)})
	}
	for i := range largeFields {
		ring := make(orb.Ring, 101)
		lon, lat := float64(i%40)*0.01-0.2, 53.2+float64(i/40)*0.01
		for k := range ring {
			a := 2 * math.Pi * float64(k%100) / 100
			ring[k] = orb.Point{lon + 0.004*math.Cos(a), lat + 0.003*math.Sin(a)}
		}
		f := catalog.Field{Meta: meta(), Name: fmt.Sprintf("Far Reach %03d", i), Outline: orb.MultiPolygon{{ring}}}
		d.Fields = append(d.Fields, f)
		l.known = append(l.known, boundary.Field{Name: f.Name, Outline: f.Outline, AreaM2: 700_000})
		for year := range largeSeasons {
			d.Seasons = append(d.Seasons, catalog.Season{Meta: meta(), Field: f.ID, Crop: "Spring oats", Year: 2027 - largeSeasons + year})
		}
		season := d.Seasons[len(d.Seasons)-1].ID
		for order := range 2 {
			d.Plans = append(d.Plans, catalog.Plan{Meta: meta(), Season: season, Order: order + 1, Operation: "seeding", Product: d.Products[i%20].ID, Rate: rate})
		}
	}
	var text bytes.Buffer
	if err := catalog.Encode(&text, d, catalog.JSON); err != nil {
		b.Fatal(err)
	}
	c, err := catalog.Open(b.Context(), filepath.Join(b.TempDir(), "catalog.db"))
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		if err := c.Close(); err != nil {
			b.Error(err)
		}
	})
	if _, err := c.Import(b.Context(), "large", text.Bytes(), false); err != nil {
		b.Fatal(err)
	}
	l.catalog, l.field, l.season = c, string(d.Fields[len(d.Fields)-1].ID), string(d.Seasons[len(d.Seasons)-1].ID)
	for i := range largeSessions {
		start := noon.Add(-time.Duration(i) * 8 * time.Hour)
		l.shelf.list = append(l.shelf.list, Session{Name: fmt.Sprintf("%06d-%s", largeSessions-i, start.Format("20060102T150405Z")), Start: start, End: start.Add(7 * time.Hour), Bytes: 31_000_000, State: SessionClosed})
	}
	return l
}

func (l *large) config(b *testing.B) Config {
	hub := &live.Hub{}
	hub.Publish(atWork())
	return Config{
		Hub: hub, Catalog: l.catalog, Sessions: l.shelf, Fields: l, FieldsFile: "fields.geojson",
		Outline: l, Drive: l, Alarms: l, Arrivals: filled(b), Operator: &heard{}, CatalogChanged: func(context.Context, catalog.Kind) error { return nil },
	}
}

// request is one call. Its body may hold a verb for a number that counts up, for a name
// that must be new.
type request struct{ name, method, path, body string }

func (r request) ask(s *Server, i int) *httptest.ResponseRecorder {
	body := r.body
	if strings.Contains(body, "%") {
		body = fmt.Sprintf(body, i)
	}
	return ask(s, r.method, r.path, body)
}

// BenchmarkAPI is how long each call takes at a large farm, on the server's handler:
// the mean, what one in a hundred takes longer than, and the processor's time, which
// alone says something on a busy machine.
func BenchmarkAPI(b *testing.B) {
	l := largeFarm(b)
	s := serverOf(b, l.config(b))
	for _, r := range []request{
		{"state", "GET", "/api/state", ""},
		{"health", "GET", "/healthz", ""},
		{"metrics", "GET", "/metrics", ""},
		{"openapi", "GET", "/openapi.json", ""},
		{"access", "GET", "/api/access", ""},
		{"alarms", "GET", "/api/alarms", ""},
		{"seen", "POST", "/api/alarms/seen", `{"alarm":"tank_low","subject":"tank 1"}`},
		{"sources", "GET", "/api/sources", ""},
		{"arrivals", "GET", "/api/arrivals", ""},
		{"tryProfile", "POST", "/api/arrivals/try", `{"line":{"kind":"keyvalue"}}`},
		{"fields", "GET", "/api/fields", ""},
		{"acceptField", "POST", "/api/fields/accept", `{"field":"Far Reach 999"}`},
		{"declineField", "POST", "/api/fields/decline", `{"field":"Far Reach 999"}`},
		{"outlineOfWork", "GET", "/api/boundary/work", ""},
		{"drive", "GET", "/api/boundary/drive", ""},
		{"say", "POST", "/api/operator", `{"mark":{"kind":"stone","at":"bar"}}`},
		{"sessions", "GET", "/api/sessions", ""},
		{"catalogFields", "GET", "/api/catalog/fields", ""},
		{"catalogField", "GET", "/api/catalog/fields/" + l.field, ""},
		{"catalogSeasons", "GET", "/api/catalog/seasons?of=" + l.field, ""},
		{"catalogPlans", "GET", "/api/catalog/plans?of=" + l.season, ""},
		{"catalogProducts", "GET", "/api/catalog/products", ""},
		{"catalogPeople", "GET", "/api/catalog/people", ""},
		{"catalogImplements", "GET", "/api/catalog/implements", ""},
		{"addCatalogPerson", "POST", "/api/catalog/people", `{"name":"Operator in the field %d"}`},
		{"addCatalogField", "POST", "/api/catalog/fields", `{"name":"New piece %d"}`},
		{"workOut", "POST", "/api/catalog/work-out", `{"product":{"name":"Firth oats","kind":"seed","thousand_kernel_g":38},"plants_per_m2":300}`},
		{"marks", "GET", "/api/marks?near=true", ""},
		{"choices", "GET", "/api/choices?field=Far+Reach+999", ""},
		{"ready", "GET", "/api/ready", ""},
	} {
		n := 0 // goes on over the runs of a benchmark
		b.Run(r.name, func(b *testing.B) {
			timed(b, func() *httptest.ResponseRecorder { n++; return r.ask(s, n) })
		})
	}
}

// timed measures calls that must be answered with 200.
func timed(b *testing.B, call func() *httptest.ResponseRecorder) {
	b.Helper()
	b.ReportAllocs()
	call() // what is worked out once and kept is not what is asked here
	var took []time.Duration
	bytes := 0
	before := processorTime(b)
	for b.Loop() {
		began := time.Now()
		w := call()
		took = append(took, time.Since(began))
		if w.Code != http.StatusOK {
			b.Fatalf("%d %s", w.Code, w.Body)
		}
		bytes = w.Body.Len()
	}
	b.ReportMetric(float64((processorTime(b)-before).Microseconds())/1000/float64(len(took)), "cpu-ms")
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "p99-ms")
	b.ReportMetric(float64(bytes), "body-B")
}

// processorTime is what this process has used so far.
func processorTime(b *testing.B) time.Duration {
	b.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
