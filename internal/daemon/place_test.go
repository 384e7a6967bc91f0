package daemon_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"drawbar/internal/sim/simdir"

	"github.com/paulmach/orb/encoding/mvt"
)

// placed is what a page sees of the place and the work.
type placed struct {
	Place struct {
		Field *string
		Offer *struct {
			Field  string
			Inside bool
		}
	}
	Operation *struct {
		Number      int
		Field       string
		HasBoundary bool `json:"has_boundary"`
		Area        struct {
			FieldM2 *float64 `json:"field_m2"`
		}
	}
	Tiles struct{ Work, Revision uint64 }
}

func (b *bench) get(path string, to any) int {
	b.t.Helper()
	return b.answer(http.Get(b.base + path))(to)
}

func (b *bench) post(path, body string, to any) int {
	b.t.Helper()
	return b.answer(http.Post(b.base+path, "application/json", strings.NewReader(body)))(to)
}

func (b *bench) answer(r *http.Response, err error) func(to any) int {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
	defer r.Body.Close()
	body, err := io.ReadAll(r.Body)
	if err != nil {
		b.t.Fatal(err)
	}
	return func(to any) int {
		b.t.Helper()
		if to != nil {
			if err := json.Unmarshal(body, to); err != nil {
				b.t.Fatalf("%v: %s", err, body)
			}
		}
		return r.StatusCode
	}
}

// Work that began under the wrong name: the daemon knows the field from its
// boundary, offers it and moves nothing by itself; accepted, the field and its
// boundary are in the recording, so that the replay is the same.
func TestFieldIsOfferedAndAccepted(t *testing.T) {
	t.Parallel()
	sc := job()
	truth := sc.Field
	truth.Name = "Mill Piece"
	sc.Field.Name, sc.Field.Outline = "Long Meadow", nil
	steps := newStepped(sc)
	b := startWith(t, sc, steps.now, func(dir string) []byte {
		text := append(simdir.Boundaries(truth), '\n')
		if err := os.WriteFile(filepath.Join(dir, "fields.geojson"), text, 0o600); err != nil {
			t.Fatal(err)
		}
		return []byte("fields: fields.geojson\n")
	})
	b.steps = steps
	offered := false
	var s placed
	sent := b.play(job(), func(n int) {
		if n%20 != 0 || offered {
			return
		}
		if b.get("/api/state", &s); s.Place.Offer == nil || !s.Place.Offer.Inside {
			return
		}
		offered = true
		if s.Place.Offer.Field != "Mill Piece" || s.Place.Field == nil || *s.Place.Field != "Mill Piece" || s.Operation.Field != "Long Meadow" || s.Operation.HasBoundary {
			t.Errorf("offered: %+v, %+v", s.Place, s.Operation)
		}
		if code := b.post("/api/fields/accept", `{"field":"Far Reach"}`, nil); code != http.StatusNotFound {
			t.Errorf("accept a field that is not known: status %d", code)
		}
		if code := b.post("/api/fields/accept", `{"field":"Mill Piece"}`, nil); code != http.StatusOK {
			t.Errorf("accept: status %d", code)
		}
	})
	if !offered {
		t.Fatal("the field was not offered")
	}
	b.waitFor("the last line", func() bool { return b.events() > sent })
	b.waitFor("the field", func() bool {
		b.get("/api/state", &s)
		return s.Place.Offer == nil && s.Operation.Field == "Mill Piece"
	})
	if s.Operation.Number != 2 || !s.Operation.HasBoundary || s.Operation.Area.FieldM2 == nil {
		t.Errorf("after accepting: %+v", s.Operation)
	}
	b.same()
}

// same compares the run with the replay of its recording.
func (b *bench) same() {
	b.t.Helper()
	if err := b.stop(); err != nil {
		b.t.Fatal(err)
	}
	summary, swaths := again(b.t, b.dir)
	live, _ := json.Marshal(b.summary)
	replayed, _ := json.Marshal(summary)
	if !bytes.Equal(live, replayed) {
		b.t.Errorf("summaries differ\nlive   %s\nreplay %s", live, replayed)
	}
	if strings.Join(b.swaths, "\n") != strings.Join(swaths, "\n") {
		b.t.Errorf("%d swaths live, %d replayed, or others", len(b.swaths), len(swaths))
	}
}

// Marks, an outline of the work and a driven boundary, tiles and what arrives, asked
// for while work goes on: they are there, and they leave no trace in the results.
func TestAskedWhileWorking(t *testing.T) {
	t.Parallel()
	sc := job()
	steps := newStepped(sc)
	b := start(t, sc, steps.now)
	b.steps = steps
	asked := false
	var drive struct {
		Driving bool
		LengthM float64 `json:"length_m"`
	}
	sent := b.play(sc, func(n int) {
		switch n {
		case 200:
			if code := b.post("/api/boundary/drive", `{"action":"start","edge":"bar_right","offset_m":0.5}`, nil); code != http.StatusOK {
				t.Errorf("start a drive: status %d", code)
			}
		case 900:
			asked = true
			b.waitFor("the drive", func() bool {
				b.get("/api/boundary/drive", &drive)
				return drive.Driving && drive.LengthM > 20
			})
			var outline struct {
				AreaM2 *float64 `json:"area_m2"`
			}
			b.waitFor("an outline of the work", func() bool {
				b.get("/api/boundary/work", &outline)
				return outline.AreaM2 != nil && *outline.AreaM2 > 300
			})
			var mark struct{ Mark *int }
			if code := b.post("/api/operator", `{"mark":{"kind":"weeds"}}`, &mark); code != http.StatusOK || mark.Mark == nil {
				t.Errorf("mark: status %d, %+v", code, mark)
				return
			}
			if code := b.say(fmt.Sprintf(`{"mark":{"undo":%d}}`, *mark.Mark)); code != http.StatusOK {
				t.Errorf("undo: status %d", code)
			}
			if code := b.post("/api/boundary/drive", `{"action":"cancel"}`, nil); code != http.StatusOK {
				t.Errorf("cancel the drive: status %d", code)
			}
		}
	})
	if !asked {
		t.Fatalf("only %d lines were sent", sent)
	}
	b.waitFor("the last line", func() bool { return b.events() >= sent })
	var s placed
	b.waitFor("tiles of all work", func() bool {
		b.get("/api/state", &s)
		return s.Tiles.Work > 0 && b.coveredIn(sc.Field.LonDeg, sc.Field.LatDeg) > 0
	})
	var arrived struct {
		Sources []struct{ Lines []struct{ OK bool } }
	}
	if b.get("/api/arrivals", &arrived); len(arrived.Sources) != 2 || len(arrived.Sources[0].Lines) == 0 {
		t.Errorf("arrivals: %+v", arrived)
	}
	b.same()
	for _, m := range b.summary.Marks {
		if m.Kind == "weeds" {
			t.Error("a mark that was withdrawn is in the summary")
		}
	}
}

// coveredIn is how many shapes the tile of zoom 15 around a place has.
func (b *bench) coveredIn(lon, lat float64) (n int) {
	b.t.Helper()
	const z = 15
	x := int((lon + 180) / 360 * (1 << z))
	rad := lat * math.Pi / 180
	y := int((1 - math.Log(math.Tan(rad)+1/math.Cos(rad))/math.Pi) / 2 * (1 << z))
	r, err := http.Get(fmt.Sprintf("%s/tiles/covered/%d/%d/%d.mvt", b.base, z, x, y))
	if err != nil {
		b.t.Fatal(err)
	}
	defer r.Body.Close()
	body, err := io.ReadAll(r.Body)
	if err != nil || r.StatusCode != http.StatusOK {
		return 0
	}
	layers, err := mvt.Unmarshal(body)
	if err != nil {
		b.t.Fatalf("the tile: %v", err)
	}
	for _, l := range layers {
		n += len(l.Features)
	}
	return n
}
