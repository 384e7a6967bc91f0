package daemon_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"path/filepath"
	"testing"

	past "drawbar/internal/recorded"
	"drawbar/internal/testkit/recordings"
	"drawbar/replay"
)

// summaryOf replays a session as the command does.
func summaryOf(t *testing.T, file string) (s replay.Summary, text string) {
	t.Helper()
	in, err := past.Open([]string{file}, past.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	_, setup, err := in.Setup(nil)
	if err != nil {
		t.Fatal(err)
	}
	session, err := replay.NewSession(setup)
	if err != nil {
		t.Fatal(err)
	}
	if err := in.Play(replay.Player{}, func(e replay.Event) error { session.Feed(e); return nil }); err != nil {
		t.Fatal(err)
	}
	session.Finish()
	s = session.Summary()
	b, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	return s, string(b)
}

// A correction through the running daemon: what it then lists is what a replay gives,
// the page of the session shows it, and taken back the first bytes are back.
func TestCorrectedWhileRunning(t *testing.T) {
	t.Parallel()
	var name, file string
	b := startWith(t, job(), nil, func(dir string) []byte {
		name = recordings.Of(t, filepath.Join(dir, "data"), "two-tanks")
		file = filepath.Join(dir, "data", name+".mcap")
		return nil
	})
	_, first := summaryOf(t, file)
	type work struct {
		State      string
		Operations []struct {
			Work  struct{ Field string }
			Tanks []struct {
				Tank    int
				Name    string
				Applied *float64
			}
		}
	}
	listed := func() (w work) {
		r, err := http.Get(b.base + "/api/work/" + name)
		if err != nil {
			b.t.Fatal(err)
		}
		defer r.Body.Close()
		_ = json.NewDecoder(r.Body).Decode(&w) // not listed yet: nothing
		return w
	}
	product := func() string {
		if w := listed(); w.State == "current" && len(w.Operations) == 1 && len(w.Operations[0].Tanks) > 0 {
			return w.Operations[0].Tanks[0].Name
		}
		return ""
	}
	shown := func() string {
		var s struct {
			Operation *struct{ Products []struct{ Name string } }
		}
		b.get("/past/"+name+"/api/state", &s)
		if s.Operation == nil || len(s.Operation.Products) == 0 {
			return ""
		}
		return s.Operation.Products[0].Name
	}
	b.waitFor("the session to be worked out", func() bool { return product() == "Spring oats" })
	b.waitFor("the session to be shown", func() bool { return shown() == "Spring oats" })

	var n struct{ Number int }
	body := `{"adjust":[{"tank":1,"product":{"name":"Winter barley","kind":"seed"}}],"from":"2026-05-14T09:20:00Z","to":"2026-05-14T09:20:40Z","why":"wrong bag"}`
	if status := b.post("/api/work/"+name+"/corrections", body, &n); status != http.StatusOK || n.Number != 1 {
		t.Fatalf("correct: status %d, number %d", status, n.Number)
	}
	b.waitFor("the figures to be worked out anew", func() bool { return product() == "Winter barley" })
	b.waitFor("the page to show it as corrected", func() bool { return shown() == "Winter barley" })
	corrected, _ := summaryOf(t, file)
	got, want := listed().Operations[0].Tanks, corrected.Operations[0].Products
	for i := range want {
		if got[i].Tank != want[i].Tank || got[i].Name != want[i].Name || got[i].Applied == nil || *got[i].Applied != *want[i].Applied {
			t.Errorf("tank %d: the daemon has %+v, a replay gives %+v", i+1, got[i], want[i])
		}
	}
	if status := b.post(fmt.Sprintf("/api/work/%s/corrections/%d/undo", name, n.Number), `{"why":"it was right"}`, &n); status != http.StatusOK || n.Number != 2 {
		t.Fatalf("undo: status %d, number %d", status, n.Number)
	}
	b.waitFor("the figures to be as they were", func() bool { return product() == "Spring oats" })
	b.waitFor("the page to show it as it was", func() bool { return shown() == "Spring oats" })
	if _, now := summaryOf(t, file); now != first {
		t.Errorf("taken back, a replay gives\n%s\nwant\n%s", now, first)
	}
	if status := b.post("/past/"+name+"/api/operator", `{"note":"x"}`, nil); status != http.StatusConflict {
		t.Errorf("an operator line to a recorded session: status %d", status)
	}
}
