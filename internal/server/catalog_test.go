package server

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"drawbar/internal/access"
	"drawbar/internal/catalog"
)

// farmText is Kettle Hollow Farm as package catalog keeps it for its own tests.
func farmText(t testing.TB) []byte {
	t.Helper()
	text, err := os.ReadFile("../catalog/testdata/versions/4.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return text
}

const (
	millPiece = "kettlehollowfarmmillpiecea"
	oatSeason = "kettlehollowfarmoatsaaaaaa"
	firthOats = "kettlehollowfarmfirthaaaaa"
	urea      = "kettlehollowfarmureaaaaaaa"
	halfUrea  = "kettlehollowfarmmixaaaaaaa"
	nothingID = "aaaaaaaaaaaaaaaaaaaaaaaaaa"
)

func emptyCatalog(t testing.TB) *catalog.Catalog {
	t.Helper()
	c, err := catalog.Open(context.Background(), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := c.Close(); err != nil {
			t.Error(err)
		}
	})
	return c
}

func filledCatalog(t testing.TB) *catalog.Catalog {
	t.Helper()
	c := emptyCatalog(t)
	if _, err := c.Import(context.Background(), "farm", farmText(t), false); err != nil {
		t.Fatal(err)
	}
	return c
}

// asking asks and looks whether the answer is as described.
type asking struct {
	t      testing.TB
	s      *Server
	d      described
	asked  map[string]bool
	header []string
}

func newAsking(t testing.TB, c Config, header ...string) *asking {
	t.Helper()
	return &asking{t: t, s: serverOf(t, c), d: description(t), asked: map[string]bool{}, header: header}
}

var ofItem = regexp.MustCompile(`^(/api/catalog/[a-z]+/)[a-z2-7]{20,}`)

func (a *asking) ask(want int, method, path, body string) *httptest.ResponseRecorder {
	a.t.Helper()
	w := ask(a.s, method, path, body, a.header...)
	if w.Code != want {
		a.t.Fatalf("%s %s %s: got %d, want %d: %s", method, path, body, w.Code, want, w.Body)
	}
	route, _, _ := strings.Cut(path, "?")
	route = ofItem.ReplaceAllString(route, "${1}{id}")
	a.asked[method+" "+route] = true
	kind := w.Header().Get("Content-Type")
	if kind != yamlText {
		fits(a.t.(*testing.T), a.d, method, route, w.Code, kind, w.Body.Bytes())
	}
	if w.Code >= 400 {
		var f failureJSON
		if err := json.Unmarshal(w.Body.Bytes(), &f); err != nil || f.Error == "" || f.Faults == nil {
			a.t.Errorf("%s %s: a failure without words: %s", method, path, w.Body)
		}
	}
	return w
}

func gave[T any](t testing.TB, w *httptest.ResponseRecorder) (out T) {
	t.Helper()
	if err := json.Unmarshal(w.Body.Bytes(), &out); err != nil {
		t.Fatalf("%v: %s", err, w.Body)
	}
	return out
}

// members are those at fault.
func members(t testing.TB, w *httptest.ResponseRecorder) string {
	t.Helper()
	var out []string
	for _, f := range gave[failureJSON](t, w).Faults {
		out = append(out, f.Member)
		if f.Want == "" {
			t.Errorf("a fault without what was expected: %s", w.Body)
		}
	}
	return strings.Join(out, " ")
}

// item is what every item has, and its name where it has one.
type item struct {
	ItemMeta
	Name, Note string
}

// Every operation of every kind of item, with every answer that it can have.
func TestCatalog(t *testing.T) {
	t.Parallel()
	var told []catalog.Kind
	c := filledCatalog(t)
	a := newAsking(t, Config{Catalog: c, CatalogChanged: func(_ context.Context, of catalog.Kind) error {
		told = append(told, of)
		return errors.New("the core is stopping") // which changes nothing of the answer
	}})
	none := newAsking(t, Config{})
	for _, k := range []struct {
		path, of string // query of the list
		new      string // an item to add
		change   string // its members with a change, but for the revision
		faulty   string
		member   string // at fault
		kind     catalog.Kind
	}{
		{"fields", "", `{"name":"Long Meadow","boundary":{"type":"Polygon","coordinates":[[[0.1,53.3],[0.11,53.3],[0.11,53.31],[0.1,53.31],[0.1,53.3]]]}}`,
			`{"name":"Long Meadow","note":"changed","has_boundary":true,"area_m2":1}`, `{"name":"mill piece"}`, "name", catalog.KindField},
		{"seasons", "?of=" + millPiece, `{"field":"` + millPiece + `","crop":"Winter beans","year":2027}`, `{"field":"` + millPiece + `","crop":"Winter beans","start":"2026-10-01","note":"changed"}`,
			`{"field":"` + nothingID + `","crop":"Winter beans","year":2027}`, "field", catalog.KindSeason},
		{"plans", "?of=" + oatSeason, `{"season":"` + oatSeason + `","order":2,"operation":"spreading","product":"Urea 46","rate":"120 kg/ha"}`,
			`{"season":"` + oatSeason + `","order":2,"operation":"spreading","product":"` + urea + `","rate":"130 kg/ha","note":"changed"}`,
			`{"season":"` + oatSeason + `","order":2,"operation":"spreading","product":"Urea 46","rate":"120 l/ha"}`, "rate", catalog.KindPlan},
		{"implements", "", `{"name":"24 m sprayer","mount":"rigid","sections_m":[6,6,6,6]}`, `{"name":"24 m sprayer","mount":"towed","hitch_to_axle_m":4,"sections_m":[6,6,6,6],"note":"changed"}`,
			`{"name":"24 m sprayer","mount":"towed","sections_m":[6,6,6,-6]}`, "hitch_to_axle_m sections_m[3]", catalog.KindImplement},
		{"tractors", "", `{"name":"Small tractor","antenna_to_hitch_m":1.1}`, `{"name":"Small tractor","antenna_to_hitch_m":1.1,"antenna_to_linkage_m":0.9,"note":"changed"}`,
			`{"name":"Small tractor"}`, "antenna_to_hitch_m", catalog.KindTractor},
		{"products", "", `{"name":"Potash 60","kind":"granular","analysis":{"k2o_pct":60},"price":"410 EUR/t"}`, `{"name":"Potash 60","kind":"granular","note":"changed","composition":null}`,
			`{"name":"Potash 60","kind":"granular","analysis":{"k2o_pct":160}}`, "analysis.k2o_pct", catalog.KindProduct},
		{"people", "", `{"name":"Contractor","licence":"0815"}`, `{"name":"Contractor","note":"changed"}`, `{"licence":"0815"}`, "name", catalog.KindPerson},
	} {
		at := "/api/catalog/" + k.path
		list := func(query string) (ids []string) {
			for _, v := range gave[catalogListJSON[item]](t, a.ask(200, "GET", at+query, "")).Items {
				ids = append(ids, v.ID)
			}
			return ids
		}
		archived := "?archived=1"
		if k.of != "" {
			archived = k.of + "&archived=1"
			a.ask(422, "GET", at, "")
		} else {
			a.ask(422, "GET", at+"?of="+millPiece, "")
		}
		before := list(archived)
		told = nil
		one := gave[item](t, a.ask(200, "POST", at, k.new))
		if one.Revision != 1 || one.Archived || slices.Contains(before, one.ID) || !slices.Contains(list(k.of), one.ID) {
			t.Errorf("%s: added %+v", k.path, one)
		}
		if got := gave[item](t, a.ask(200, "GET", at+"/"+one.ID, "")); got != one {
			t.Errorf("%s: got %+v, added %+v", k.path, got, one)
		}
		// As it was, with a change; the answer can be sent back as it is.
		stated := func(text string, revision int64) string {
			return strings.TrimSuffix(text, "}") + fmt.Sprintf(`,"revision":%d}`, revision)
		}
		two := gave[item](t, a.ask(200, "PUT", at+"/"+one.ID, stated(k.change, 1)))
		if two.Revision != 2 || two.Note != "changed" || two.ID != one.ID {
			t.Errorf("%s: changed to %+v", k.path, two)
		}
		whole := a.ask(200, "GET", at+"/"+one.ID, "").Body.String()
		if got := gave[item](t, a.ask(200, "PUT", at+"/"+one.ID, whole)); got.Revision != 3 {
			t.Errorf("%s: sent back as it was: %+v", k.path, got)
		}
		// Another was faster: what stands is in the answer, and is not changed.
		for _, x := range [][3]string{
			{"PUT", at + "/" + one.ID, stated(k.change, 2)},
			{"DELETE", at + "/" + one.ID + "?revision=2", ""},
			{"POST", at + "/" + one.ID + "/archive", `{"revision":1,"archived":true}`},
		} {
			got := gave[catalogConflictJSON[item]](t, a.ask(409, x[0], x[1], x[2]))
			if got.Current.Revision != 3 || got.Current.ID != one.ID || got.Current.Note != "changed" {
				t.Errorf("%s: in conflict with %+v", k.path, got.Current)
			}
		}
		for what, x := range map[string][3]string{
			k.member:                {"POST", at, k.faulty},
			"revision":              {"PUT", at + "/" + one.ID, k.change},
			"id":                    {"PUT", at + "/" + one.ID, stated(strings.Replace(k.change, "{", `{"id":"`+nothingID+`",`, 1), 3)},
			"colour":                {"PUT", at + "/" + one.ID, stated(strings.Replace(k.change, "{", `{"colour":"red",`, 1), 3)},
			"query.revision":        {"DELETE", at + "/" + one.ID, ""},
			"revision archived all": {"POST", at + "/" + one.ID + "/archive", `{}`},
		} {
			w := a.ask(422, x[0], x[1], x[2])
			if got := members(t, w); got != what && !strings.HasSuffix(what, "all") {
				t.Errorf("%s %s %s: faults of %q, want %q: %s", x[0], x[1], x[2], got, what, w.Body)
			}
		}
		a.ask(400, "POST", at, `{"name":`)
		a.ask(400, "PUT", at+"/"+one.ID, `name`)
		a.ask(413, "POST", at, `{"name":"`+strings.Repeat("x", mostItem)+`"}`)
		a.header = []string{"Content-Type", "text/plain"}
		a.ask(415, "POST", at, k.new)
		a.header = nil
		for _, x := range [][3]string{
			{"GET", at + "/" + nothingID, ""}, {"PUT", at + "/" + nothingID, stated(k.change, 1)}, {"DELETE", at + "/" + nothingID + "?revision=1", ""},
			{"POST", at + "/" + nothingID + "/archive", `{"revision":1,"archived":true}`},
		} {
			a.ask(404, x[0], x[1], x[2])
			none.ask(503, x[0], x[1], x[2])
		}
		none.ask(503, "GET", at, "")
		none.ask(503, "POST", at, k.new)
		if got := gave[item](t, a.ask(200, "POST", at+"/"+one.ID+"/archive", `{"revision":3,"archived":true}`)); !got.Archived || got.Revision != 4 {
			t.Errorf("%s: archived %+v", k.path, got)
		}
		if slices.Contains(list(k.of), one.ID) || !slices.Contains(list(archived), one.ID) {
			t.Errorf("%s: an archived one is listed, or is not among the archived", k.path)
		}
		if got := gave[removedJSON](t, a.ask(200, "DELETE", at+"/"+one.ID+"?revision=4", "")); got.Became != "deleted" {
			t.Errorf("%s: became %s", k.path, got.Became)
		}
		if after := list(archived); !slices.Equal(after, before) {
			t.Errorf("%s: left %q, want %q", k.path, after, before)
		}
		if want := []catalog.Kind{k.kind, k.kind, k.kind, k.kind, k.kind}; !slices.Equal(told, want) {
			t.Errorf("%s: told of %v, want %v", k.path, told, want)
		}
	}
	if got := gave[removedJSON](t, a.ask(200, "DELETE", "/api/catalog/products/"+urea+"?revision=1", "")); got.Became != "archived" {
		t.Errorf("a product in a blend became %s", got.Became)
	}
	a.ask(200, "GET", "/api/catalog/export", "")
	a.ask(200, "GET", "/api/catalog/export?format=json", "")
	a.ask(422, "GET", "/api/catalog/export?format=pdf", "")
	none.ask(503, "GET", "/api/catalog/export", "")
	a.ask(200, "POST", "/api/catalog/import", `{"schema":"drawbar.catalog.1"}`)
	a.ask(422, "POST", "/api/catalog/import", `{"schema":"drawbar.catalog.7"}`)
	a.ask(422, "POST", "/api/catalog/import?replace=perhaps", `{"schema":"drawbar.catalog.1"}`)
	none.ask(503, "POST", "/api/catalog/import", `{"schema":"drawbar.catalog.1"}`)
	a.header = []string{"Content-Type", "text/plain"}
	a.ask(415, "POST", "/api/catalog/import", `{"schema":"drawbar.catalog.1"}`)
	a.header = nil
	a.ask(200, "POST", "/api/catalog/work-out", `{"product":{"name":"Urea 46","kind":"granular"}}`)
	a.ask(422, "POST", "/api/catalog/work-out", `{"rate":"1 kg/ha"}`)
	a.ask(400, "POST", "/api/catalog/work-out", `{`)
	none.ask(503, "POST", "/api/catalog/work-out", `{"product":{"name":"Urea 46","kind":"granular"}}`)
	for path, operations := range a.d.doc["paths"].(map[string]any) {
		for method := range operations.(map[string]any) {
			if route := strings.ToUpper(method) + " " + path; strings.HasPrefix(path, "/api/catalog/") && !a.asked[route] {
				t.Errorf("%s is not asked for here", route)
			}
		}
	}
}

// The outline of a field is not in the list; with PUT it stays where nothing is said
// of it and goes where null is said.
func TestCatalogOutline(t *testing.T) {
	t.Parallel()
	a := newAsking(t, Config{Catalog: filledCatalog(t)})
	const at = "/api/catalog/fields"
	w := a.ask(200, "GET", at, "")
	list := gave[catalogListJSON[catalogFieldJSON]](t, w).Items
	if len(list) != 1 || list[0].Boundary != nil || !list[0].HasBoundary || list[0].AreaM2 == nil || strings.Contains(w.Body.String(), "coordinates") {
		t.Fatalf("listed: %s", w.Body)
	}
	get := func() catalogFieldJSON { return gave[catalogFieldJSON](t, a.ask(200, "GET", at+"/"+millPiece, "")) }
	f := get()
	if f.AreaM2 == nil || math.Abs(*f.AreaM2-*list[0].AreaM2) > 1e-9 || !strings.HasPrefix(string(f.Boundary), `{"type":"MultiPolygon"`) {
		t.Fatalf("got %+v", f)
	}
	put := func(body string) {
		t.Helper()
		a.ask(200, "PUT", at+"/"+millPiece, fmt.Sprintf(`{"name":"Mill Piece","revision":%d%s}`, get().Revision, body))
	}
	put(``)
	if got := get(); string(got.Boundary) != string(f.Boundary) {
		t.Errorf("nothing said of it: %s", got.Boundary)
	}
	put(`,"boundary":{"type":"Polygon","coordinates":[[[0,53],[0.01,53],[0.01,53.01],[0,53.01],[0,53]]]}`)
	if got := get(); string(got.Boundary) == string(f.Boundary) || got.AreaM2 == nil || *got.AreaM2 < 7e5 || *got.AreaM2 > 8e5 {
		t.Errorf("another: %s, %v", got.Boundary, got.AreaM2)
	}
	put(`,"boundary":null`)
	if got := get(); got.Boundary != nil || got.HasBoundary || got.AreaM2 != nil {
		t.Errorf("null: %+v", got)
	}
}

// Export, wipe and import through the server give the same bytes, in both formats.
func TestCatalogRoundTrip(t *testing.T) {
	t.Parallel()
	want := string(farmText(t))
	a := newAsking(t, Config{Catalog: emptyCatalog(t)})
	send := func(query, kind, text string) importedJSON {
		t.Helper()
		a.header = []string{"Content-Type", kind}
		defer func() { a.header = nil }()
		return gave[importedJSON](t, a.ask(200, "POST", "/api/catalog/import"+query, text))
	}
	got := func(format string) string {
		return a.ask(200, "GET", "/api/catalog/export?format="+format, "").Body.String()
	}
	n := send("", yamlText, want)
	if n.Added == 0 || n.Changed+n.Removed+n.Same > 0 {
		t.Errorf("into nothing: %+v", n)
	}
	asJSON := got("json")
	for _, text := range []struct{ kind, text string }{{yamlText, want}, {jsonText, asJSON}} {
		if again := send("", text.kind, text.text); again.Same != n.Added || again.Added > 0 {
			t.Errorf("again: %+v", again)
		}
		if wiped := send("?replace=1", yamlText, "schema: drawbar.catalog.1"); wiped.Removed != n.Added {
			t.Errorf("wiped: %+v", wiped)
		}
		if back := send("?replace=1", text.kind, text.text); back.Added != n.Added {
			t.Errorf("back: %+v", back)
		}
		if diff := cmp.Diff(want, got("yaml")); diff != "" {
			t.Errorf("(-sent +got):\n%s", diff)
		}
		if diff := cmp.Diff(asJSON, got("json")); diff != "" {
			t.Errorf("(-sent +got):\n%s", diff)
		}
	}
	w := a.ask(200, "GET", "/api/catalog/export", "")
	if w.Header().Get("Content-Type") != yamlText || w.Header().Get("Content-Disposition") != `attachment; filename="farm.yaml"` {
		t.Errorf("headers: %v", w.Header())
	}
	// Faults have the place in the text, and nothing is done.
	a.header = []string{"Content-Type", yamlText}
	w = a.ask(422, "POST", "/api/catalog/import", "schema: drawbar.catalog.1\npeople:\n- name: New\n- licence: 7\n")
	if f := gave[failureJSON](t, w).Faults; len(f) == 0 || f[0].Member != "people[1].name" || f[0].Line != 4 {
		t.Errorf("faults: %+v", f)
	}
	if diff := cmp.Diff(want, got("yaml")); diff != "" {
		t.Errorf("after a refusal (-before +after):\n%s", diff)
	}
}

// Many writers at once, each adding its letter to one note and trying again after a
// conflict: every letter is there once, and each change has a revision of its own.
func TestCatalogWriters(t *testing.T) {
	t.Parallel()
	const writers, letters = 4, 5
	a := newAsking(t, Config{Catalog: filledCatalog(t)})
	at := "/api/catalog/fields/" + millPiece
	first := gave[item](t, a.ask(200, "GET", at, "")).Revision
	var work sync.WaitGroup
	conflicts := make([]int, writers)
	for i := range writers {
		work.Go(func() {
			for written := 0; written < letters; {
				var f item
				if err := json.Unmarshal(ask(a.s, "GET", at, "").Body.Bytes(), &f); err != nil {
					t.Error(err)
					return
				}
				w := ask(a.s, "PUT", at, fmt.Sprintf(`{"name":"Mill Piece","note":%q,"revision":%d}`, f.Note+string(rune('A'+i)), f.Revision))
				switch w.Code {
				case http.StatusOK:
					written++
				case http.StatusConflict:
					conflicts[i]++
				default:
					t.Errorf("got %d: %s", w.Code, w.Body)
					return
				}
			}
		})
	}
	work.Wait()
	last := gave[catalogFieldJSON](t, a.ask(200, "GET", at, ""))
	note := strings.TrimPrefix(last.Note, "wet in the north")
	for i := range writers {
		if n := strings.Count(note, string(rune('A'+i))); n != letters {
			t.Errorf("writer %d: %d letters of %d in %q", i, n, letters, note)
		}
	}
	if last.Revision != first+writers*letters || len(note) != writers*letters || !last.HasBoundary {
		t.Errorf("revision %d after %d, %q", last.Revision, first, note)
	}
	t.Logf("conflicts: %v", conflicts)
}

// A viewer reads the catalogue and changes nothing; a stranger does neither.
func TestCatalogRoles(t *testing.T) {
	t.Parallel()
	s := serverOf(t, Config{Access: gate(t), Catalog: filledCatalog(t), Listen: "0.0.0.0:0"})
	const away, home = "192.0.2.7:40000", "127.0.0.1:40000"
	code := gave[codeJSON](t, ask(s, "POST", "/api/access/code", `{"role":"viewer"}`, "Remote", home))
	paired := ask(s, "POST", "/api/access/pair", fmt.Sprintf(`{"code":%q,"name":"tablet"}`, code.Code), "Remote", away)
	if gave[accessJSON](t, paired).Role != string(access.Viewer) {
		t.Fatalf("paired: %s", paired.Body)
	}
	cookie, _, _ := strings.Cut(paired.Header().Get("Set-Cookie"), ";")
	for _, x := range []struct {
		method, path, body string
		viewer, operator   int
	}{
		{"GET", "/api/catalog/fields", "", 200, 200},
		{"GET", "/api/catalog/export", "", 200, 200},
		{"POST", "/api/catalog/people", `{"name":"Contractor"}`, 403, 200},
		{"PUT", "/api/catalog/fields/" + millPiece, `{"name":"Mine","revision":1}`, 403, 200},
		{"POST", "/api/catalog/fields/" + millPiece + "/archive", `{"revision":2,"archived":true}`, 403, 200},
		{"DELETE", "/api/catalog/fields/" + millPiece + "?revision=3", "", 403, 200},
		{"POST", "/api/catalog/import?replace=1", `{"schema":"drawbar.catalog.1"}`, 403, 200},
	} {
		if w := ask(s, x.method, x.path, x.body, "Remote", away); w.Code != 401 {
			t.Errorf("a stranger, %s %s: got %d", x.method, x.path, w.Code)
		}
		if w := ask(s, x.method, x.path, x.body, "Remote", away, "Cookie", cookie); w.Code != x.viewer {
			t.Errorf("a viewer, %s %s: got %d, want %d", x.method, x.path, w.Code, x.viewer)
		}
		if w := ask(s, x.method, x.path, x.body, "Remote", home); w.Code != x.operator {
			t.Errorf("an operator, %s %s: got %d, want %d: %s", x.method, x.path, w.Code, x.operator, w.Body)
		}
	}
}

// What follows from a product, by hand.
func TestWorkOut(t *testing.T) {
	t.Parallel()
	a := newAsking(t, Config{Catalog: filledCatalog(t)})
	out := func(body string) workedOutJSON {
		t.Helper()
		return gave[workedOutJSON](t, a.ask(200, "POST", "/api/catalog/work-out", body))
	}
	near := func(what string, got *float64, want float64) {
		t.Helper()
		if got == nil || math.Abs(*got-want) > 1e-9*math.Abs(want)+1e-15 {
			t.Errorf("%s: got %v, want %v", what, show(got), want)
		}
	}
	// 300 plants of which 95 % germinate and 90 % live: 300/0.855 = 350.877 seeds; at 38 g
	// a thousand 13.3333 g; in rows 12.5 cm apart 2.28 cm from seed to seed.
	seed := out(`{"product":{"name":"Oats","kind":"seed","thousand_kernel_g":38,"germination_pct":95,"price":"480 EUR/t"},"plants_per_m2":300,"survival_pct":90,"row_spacing_m":0.125}`)
	near("seeds", seed.SeedsPerM2, 300/0.855)
	near("kg", seed.SeedKgPerM2, 300/0.855*0.000038)
	near("spacing", seed.SpacingM, 0.0228)
	near("cost", seed.CostPerM2, 300/0.855*0.000038*0.48)
	if seed.NKgPerM2 != nil || seed.Currency == nil || *seed.Currency != "EUR" {
		t.Errorf("a seed: %+v", seed)
	}
	// 3 parts of 46 % and 1 of 28 %: 41.5 %. At 200 kg/ha 83 kg/ha of nitrogen.
	blend := out(`{"product":{"name":"Mix","kind":"blend","shares_by":"mass","parts":[{"product":"Urea 46","share":3},{"product":"` + halfUrea + `","share":1}]},"rate":"200 kg/ha"}`)
	near("a blend of a blend", blend.Composition.NPct, 46)
	near("nitrogen", blend.NKgPerM2, 0.0092)
	unknown := out(`{"product":{"name":"Lime","kind":"granular"},"rate":"200 kg/ha"}`)
	if unknown.NKgPerM2 != nil || unknown.Composition.NPct != nil || unknown.CostPerM2 != nil || unknown.SeedsPerM2 != nil {
		t.Errorf("of nothing known: %+v", unknown)
	}
	// 100 kg/ha of 20 % P2O5 and 10 % K2O: 20 kg and 10 kg, as elements 8.73 and 8.30 (0.4364
	// and 0.8301 of the oxides, common tables).
	mixed := out(`{"product":{"name":"PK","kind":"granular","analysis":{"p2o5_pct":20,"k2o_pct":10}},"rate":"100 kg/ha"}`)
	near("P2O5", mixed.P2O5KgPerM2, 0.002)
	near("K2O", mixed.K2OKgPerM2, 0.001)
	if math.Abs(*mixed.PKgPerM2-0.0008728) > 1e-7 || math.Abs(*mixed.KKgPerM2-0.0008301) > 1e-7 {
		t.Errorf("elements: %v, %v", *mixed.PKgPerM2, *mixed.KKgPerM2)
	}
	for body, want := range map[string]string{
		`{"product":{"name":"x","kind":"granular","analysis":{"n_pct":146}}}`:   "product.analysis.n_pct",
		`{"product":{"kind":"granular"}}`:                                       "product.name",
		`{"product":{"name":"x","kind":"granular"},"rate":"much"}`:              "rate",
		`{"product":{"name":"x","kind":"granular"},"rates":"1 kg/ha"}`:          "",
		`{"product":{"name":"x","kind":"blend","shares_by":"mass","parts":[]}}`: "product.parts",
	} {
		if got := members(t, a.ask(422, "POST", "/api/catalog/work-out", body)); got != want {
			t.Errorf("%s: faults of %q, want %q", body, got, want)
		}
	}
}

func show(v *float64) string {
	if v == nil {
		return "null"
	}
	return fmt.Sprint(*v)
}

// BenchmarkCatalog asks a catalogue of 1,000 fields with 20 seasons each and 500
// products.
func BenchmarkCatalog(b *testing.B) {
	var text strings.Builder
	text.WriteString("schema: drawbar.catalog.1\nfields:\n")
	for i := range 1000 {
		lon := float64(i) * 0.02
		fmt.Fprintf(&text, "- name: Far Reach %d\n  boundary: {type: Polygon, coordinates: [[", i)
		for k := range 200 {
			angle := float64(k) / 200 * 2 * math.Pi
			fmt.Fprintf(&text, "[%.7f, %.7f], ", lon+0.004*math.Cos(angle), 53+0.003*math.Sin(angle))
		}
		fmt.Fprintf(&text, "[%.7f, 53]]]}\n  seasons:\n", lon+0.004)
		for k := range 20 {
			fmt.Fprintf(&text, "  - {crop: Spring oats, year: %d, plans: [{order: 1, operation: seeding, product: Oats 1, rate: 180 kg/ha}]}\n", 2007+k)
		}
	}
	text.WriteString("products:\n")
	for i := range 500 {
		fmt.Fprintf(&text, "- {name: Oats %d, kind: seed, thousand_kernel_g: 38}\n", i)
	}
	c := emptyCatalog(b)
	if _, err := c.Import(b.Context(), "farm", []byte(text.String()), false); err != nil {
		b.Fatal(err)
	}
	f, err := c.Fields.Named(b.Context(), "Far Reach 500")
	if err != nil {
		b.Fatal(err)
	}
	s := serverOf(b, Config{Catalog: c})
	for _, x := range []struct{ name, path string }{
		{"fields", "/api/catalog/fields"}, {"field", "/api/catalog/fields/" + string(f.ID)}, {"seasons", "/api/catalog/seasons?of=" + string(f.ID)}, {"products", "/api/catalog/products"},
	} {
		b.Run(x.name, func(b *testing.B) {
			for b.Loop() {
				if w := ask(s, "GET", x.path, ""); w.Code != 200 {
					b.Fatalf("got %d: %s", w.Code, w.Body)
				}
			}
		})
	}
	b.Run("change", func(b *testing.B) {
		revision := f.Revision
		for b.Loop() {
			w := ask(s, "PUT", "/api/catalog/fields/"+string(f.ID), fmt.Sprintf(`{"name":"Far Reach 500","note":"%d","revision":%d}`, revision, revision))
			if w.Code != 200 {
				b.Fatalf("got %d: %s", w.Code, w.Body)
			}
			revision++
		}
	})
}
