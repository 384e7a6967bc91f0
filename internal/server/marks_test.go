package server

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"math"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"drawbar/internal/access"
	"drawbar/internal/catalog"
	"drawbar/internal/marks"
	"drawbar/replay/statement"
)

// The ids of the marks of kept.
const (
	stoneID = "kettlehollowfarmstoneaaaaa"
	wetID   = "kettlehollowfarmwetaaaaaaa"
	postID  = "kettlehollowfarmpostaaaaaa"
)

// keptMarks is a real catalogue with three marks and its keeper, which has lines said
// by say.
func keptMarks(t testing.TB, say func(line []byte) error) (*catalog.Catalog, *marks.Keeper) {
	t.Helper()
	ctx := context.Background()
	c, err := catalog.Open(ctx, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := c.Close(); err != nil {
			t.Error(err)
		}
	})
	field, err := c.Fields.Add(ctx, catalog.Field{Name: "Mill Piece"})
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range []catalog.Mark{
		// The machine of atWork is at 53.351 N, 0.012 W.
		{Meta: catalog.Meta{ID: stoneID}, Kind: "stone", Note: "big", Field: field.ID, LonDeg: -0.012, LatDeg: 53.361, HasPlace: true, Left: noon.AddDate(-1, 0, 0), Origin: "000003-20250514T110000Z#1"},
		{Meta: catalog.Meta{ID: wetID}, Kind: "wet spot", FieldName: "Long Meadow", LonDeg: -0.011, LatDeg: 53.351, HasPlace: true, Left: noon.AddDate(0, -1, 0), Origin: "000017-20260414T110000Z#2"},
		{Meta: catalog.Meta{ID: postID}, Kind: "post", Left: noon, Done: true, Settled: noon, SettledBy: "Driver"},
	} {
		if _, err := c.Marks.Add(ctx, m); err != nil {
			t.Fatal(err)
		}
	}
	minute := 0
	clock := func() time.Time { minute++; return noon.Add(time.Duration(minute) * time.Minute) }
	return c, marks.NewKeeper(marks.Config{
		Catalog: c, Dir: t.TempDir(), Session: "000018-20260514T110000Z", Now: clock, Log: slog.New(slog.DiscardHandler),
		Say: func(_ context.Context, line []byte) (time.Time, error) { return clock(), say(line) },
	})
}

func saidBy(to *[]string) func([]byte) error {
	return func(line []byte) error {
		*to = append(*to, string(line))
		return nil
	}
}

func TestMarks(t *testing.T) {
	t.Parallel()
	_, k := keptMarks(t, saidBy(new([]string)))
	s := serverOf(t, Config{Marks: k})
	ids := func(query string) (out []string) {
		w := ask(s, "GET", "/api/marks"+query, "")
		if w.Code != 200 {
			t.Fatalf("%s: got %d %s", query, w.Code, w.Body)
		}
		for _, m := range decode[marksJSON](t, w.Body.String()).Marks {
			out = append(out, m.ID)
		}
		return out
	}
	for query, want := range map[string][]string{
		"": {stoneID, wetID}, "?state=done": {postID}, "?state=all": {stoneID, wetID, postID}, "?near=true": {wetID, stoneID}, "?near=true&state=all": {wetID, stoneID, postID},
		"?field=mill%20piece": {stoneID}, "?field=Long%20Meadow": {wetID}, "?field=Far%20Reach": nil,
	} {
		if got := ids(query); !slices.Equal(got, want) {
			t.Errorf("%s: got %q, want %q", query, got, want)
		}
	}
	list := decode[marksJSON](t, ask(s, "GET", "/api/marks?near=true", "").Body.String())
	// 0.01 degrees of the meridian at 53.356 N: 1113.0 m, by M = a(1-e2)/(1-e2 sin2)^1.5
	// of WGS 84; 0.001 degrees of the parallel at 53.351 N: 66.6 m.
	north, east := list.Marks[1], list.Marks[0]
	if math.Abs(*north.DistanceM-1113.0) > 0.2 || math.Abs(*north.BearingDeg) > 1e-6 || math.Abs(*east.DistanceM-66.6) > 0.1 || math.Abs(*east.BearingDeg-90) > 0.01 {
		t.Errorf("got %v m %v°, %v m %v°, want 1113.0 m 0°, 66.6 m 90°", *north.DistanceM, *north.BearingDeg, *east.DistanceM, *east.BearingDeg)
	}
	if *north.Field != "Mill Piece" || *east.Field != "Long Meadow" || *north.Session != "000003-20250514T110000Z" || *north.Number != 1 || north.Note != "big" {
		t.Errorf("got %+v and %+v", north, east)
	}
	if want := []string{"Long Meadow", "Mill Piece"}; !slices.Equal(list.Fields, want) || list.Machine == nil || list.Machine.LatDeg != 53.351 {
		t.Errorf("got fields %q, machine %+v", list.Fields, list.Machine)
	}
}

// Ticking off is recorded first, by whom; words are changed by the revision that was
// seen; what is at fault changes nothing.
func TestChangeMark(t *testing.T) {
	t.Parallel()
	var lines []string
	c, k := keptMarks(t, saidBy(&lines))
	s := serverOf(t, Config{Marks: k})
	post := func(id, body string, want int) keptMarkJSON {
		t.Helper()
		w := ask(s, "POST", "/api/marks/"+id, body)
		if w.Code != want {
			t.Fatalf("%s: got %d %s, want %d", body, w.Code, w.Body, want)
		}
		if want != 200 {
			return keptMarkJSON{}
		}
		return decode[keptMarkJSON](t, w.Body.String())
	}
	m := post(stoneID, `{"state":"done"}`, 200)
	if m.State != "done" || m.Revision != 2 || *m.Field != "Mill Piece" || m.Settled == nil || m.SettledBy != nil || m.DistanceM == nil {
		t.Errorf("got %+v", m)
	}
	post(stoneID, `{"state":"done","revision":2}`, 200) // the same again says nothing
	if want := []string{`{"mark":{"of":"000003-20250514T110000Z#1","done":true}}`}; !slices.Equal(lines, want) {
		t.Errorf("said %q, want %q", lines, want)
	}
	if op, faults := statement.ParseLine([]byte(lines[0])); len(faults) > 0 || op.Mark.Of == "" || !op.Mark.Done {
		t.Errorf("the line is no operator line: %+v, %v", op, faults)
	}
	post(stoneID, `{"note":"gone to the hedge","revision":1}`, 409)
	post(stoneID, `{"note":"gone to the hedge"}`, 422)
	post(stoneID, `{"kind":" ","revision":2}`, 422)
	post(stoneID, `{}`, 422)
	post(stoneID, `{"state":"lost"}`, 422)
	post("kettlehollowfarmnoneaaaaaa", `{"state":"done"}`, 404)
	if m = post(stoneID, `{"note":"gone to the hedge","kind":"rock","revision":2,"state":"open"}`, 200); m.State != "open" || m.Note != "gone to the hedge" || m.Kind != "rock" || m.Revision != 4 {
		t.Errorf("got %+v", m)
	}
	// One of no session is not said, and is changed all the same.
	if m = post(postID, `{"state":"open","revision":1}`, 200); m.State != "open" || len(lines) != 2 {
		t.Errorf("got %+v, said %q", m, lines)
	}
	gone, err := c.Marks.Get(t.Context(), wetID)
	if err != nil {
		t.Fatal(err)
	}
	gone.Archived = true
	if _, err := c.Marks.Update(t.Context(), gone); err != nil {
		t.Fatal(err)
	}
	post(wetID, `{"state":"done"}`, 404)
}

// What could not be recorded did not happen.
func TestMarkNotRecorded(t *testing.T) {
	t.Parallel()
	_, k := keptMarks(t, func([]byte) error { return errors.New("no space left on device") })
	s := serverOf(t, Config{Marks: k})
	if w := ask(s, "POST", "/api/marks/"+stoneID, `{"state":"done"}`); w.Code != 503 || !strings.Contains(w.Body.String(), "no space left") {
		t.Errorf("got %d %s", w.Code, w.Body)
	}
	if n := len(decode[marksJSON](t, ask(s, "GET", "/api/marks", "").Body.String()).Marks); n != 2 {
		t.Errorf("got %d open marks, want 2 as before", n)
	}
}

// A second person's phone looks at marks and ticks them off; what is written of them,
// and everything else of the farm, is not for it.
func TestHelper(t *testing.T) {
	t.Parallel()
	var lines []string
	_, k := keptMarks(t, saidBy(&lines))
	g, err := access.New(access.Config{Public: IsPageFile, Helper: ForHelper, Hosts: []string{"127.0.0.1"}})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { g.Close() })
	said := &heard{}
	s := serverOf(t, Config{Access: g, Marks: k, Operator: said, Listen: "0.0.0.0:0"})
	const away, home = "192.0.2.7:40000", "127.0.0.1:40000"
	code := decode[codeJSON](t, ask(s, "POST", "/api/access/code", `{"role":"helper"}`, "Remote", home).Body.String())
	w := ask(s, "POST", "/api/access/pair", fmt.Sprintf(`{"code":%q,"name":"stone picker"}`, code.Code), "Remote", away)
	if got := decode[accessJSON](t, w.Body.String()); w.Code != 200 || got.Role != "helper" {
		t.Fatalf("paired: got %d %s", w.Code, w.Body)
	}
	cookie, _, _ := strings.Cut(w.Header().Get("Set-Cookie"), ";")
	at := func(method, path, body string) (int, string) {
		w := ask(s, method, path, body, "Remote", away, "Cookie", cookie)
		return w.Code, w.Body.String()
	}
	for _, path := range []string{"/marks", "/", "/api/access", "/api/marks", "/api/marks?state=all&near=true", "/api/marks.gpx", "/api/marks.kml", "/api/marks.geojson"} {
		if code, body := at("GET", path, ""); code != 200 {
			t.Errorf("%s: got %d %s", path, code, body)
		}
	}
	if code, body := at("POST", "/api/marks/"+stoneID, `{"state":"done"}`); code != 200 || !strings.Contains(body, `"settled_by":"stone picker"`) {
		t.Errorf("ticked off: got %d %s", code, body)
	}
	if want := []string{`{"mark":{"of":"000003-20250514T110000Z#1","done":true,"by":"stone picker"}}`}; !slices.Equal(lines, want) {
		t.Errorf("said %q, want %q", lines, want)
	}
	for _, body := range []string{`{"note":"x","revision":2}`, `{"kind":"x","revision":2}`, `{"state":"open","note":"x","revision":2}`} {
		if code, answer := at("POST", "/api/marks/"+stoneID, body); code != 403 {
			t.Errorf("%s: got %d %s", body, code, answer)
		}
	}
	// Every other address of the description is refused.
	for path, item := range description(t).doc["paths"].(map[string]any) {
		for method := range item.(map[string]any) {
			method = strings.ToUpper(method)
			real := strings.NewReplacer("{id}", stoneID, "{layer}", "marks", "{z}", "1", "{x}", "0", "{y}", "0", "{session}", "000001-20260514T092000Z", "{n}", "1", "{kind}", "fields", "{operation}", "1").Replace(path)
			free := method == "GET" && (IsPageFile(path) || path == "/api/access") || path == "/api/access/pair"
			if free || ForHelper(method, real) {
				continue
			}
			if code, body := at(method, real, `{}`); code != 403 || strings.Contains(body, "Mill Piece") {
				t.Errorf("%s %s: got %d %s", method, real, code, body)
			}
		}
	}
	for _, path := range []string{"/api/marks/" + stoneID + "/x", "/api/marks/../state", "/api/marks/", "/api/marksx", "/api/marks.gpx/x"} {
		if ForHelper("POST", path) || ForHelper("GET", path) || ForHelper("DELETE", "/api/marks/"+stoneID) {
			t.Errorf("%s is for helpers", path)
		}
	}
	if len(said.lines) != 0 || len(lines) != 1 {
		t.Errorf("a helper said %q, %q", said.lines, lines)
	}
}

func TestMarksFile(t *testing.T) {
	t.Parallel()
	_, k := keptMarks(t, saidBy(new([]string)))
	s := serverOf(t, Config{Marks: k})
	for path, want := range map[string][]string{
		"/api/marks.gpx":                       {"application/gpx+xml", `<wpt lat="53.361" lon="-0.012">`, "<name>stone 1</name>", "<name>wet spot 2</name>"},
		"/api/marks.kml?field=Mill%20Piece":    {"application/vnd.google-earth.kml+xml", "<name>Marks of Mill Piece</name>", "<coordinates>-0.012,53.361</coordinates>"},
		"/api/marks.geojson?state=done":        {"application/geo+json", `"features":[`},
		"/api/marks.geojson?field=Far%20Reach": {"application/geo+json", `"features":[`},
	} {
		w := ask(s, "GET", path, "")
		text := w.Header().Get("Content-Type") + "\n" + w.Body.String()
		for _, part := range want {
			if w.Code != 200 || !strings.Contains(text, part) {
				t.Errorf("%s: got %d, want %s in\n%s", path, w.Code, part, text)
			}
		}
		if !strings.HasPrefix(w.Header().Get("Content-Disposition"), `attachment; filename="marks.`) {
			t.Errorf("%s: %q", path, w.Header().Get("Content-Disposition"))
		}
	}
	if w := ask(s, "GET", "/api/marks.gpx?state=lost", ""); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("got %d", w.Code)
	}
	if w := ask(serverOf(t, Config{}), "GET", "/api/marks.gpx", ""); w.Code != 200 {
		t.Errorf("without marks: got %d", w.Code)
	} else if b, _ := io.ReadAll(w.Body); strings.Contains(string(b), "<wpt") {
		t.Errorf("without marks: %s", b)
	}
}
