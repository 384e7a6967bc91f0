package catalog_test

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"drawbar/internal/catalog"

	"github.com/google/go-cmp/cmp"
	"go.uber.org/goleak"
)

// childEnv makes the test binary a program that writes to the catalogue in the
// folder that it names, until it is killed.
const (
	childEnv = "DRAWBAR_TEST_CATALOG"
	fromEnv  = "DRAWBAR_TEST_FROM" // the state to begin with
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(childEnv); dir != "" {
		if err := child(dir); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	goleak.VerifyTestMain(m)
}

// child brings the catalogue from state to state and says so, each time it has one.
func child(dir string) error {
	ctx := context.Background()
	c, err := catalog.Open(ctx, dir)
	if err != nil {
		return err
	}
	fmt.Println("open")
	from, err := strconv.Atoi(os.Getenv(fromEnv))
	if err != nil {
		return err
	}
	for k := from; ; k++ {
		if _, err := c.Import(ctx, "state", []byte(state(k)), true); err != nil {
			return err
		}
		fmt.Println(k)
	}
}

// state is an export: of the fields some are there by turns, and all that are say
// which state it is.
func state(k int) string {
	var b strings.Builder
	b.WriteString("# The catalogue of a farm. Every number has its unit in its name (_m metres,\n" +
		"# _g grams, _pct per cent, _h hours) or beside it; boundaries are GeoJSON, WGS 84.\n" +
		"# Limits of products are what the user copied: the label alone counts.\n" +
		"schema: drawbar.catalog.1\nfields:\n")
	id := func(kind byte, i int) string {
		return fmt.Sprintf("%c%s%c%ca", kind, strings.Repeat("q", 22), 'a'+i/26, 'a'+i%26)
	}
	for i := range 60 {
		if i%3 == k%3 {
			continue
		}
		fmt.Fprintf(&b, "- name: Far Reach %02d\n  id: %s\n  note: state %d\n", i, id('f', i), k)
		fmt.Fprintf(&b, "  boundary:\n    type: MultiPolygon\n    coordinates: [[[[0, 53], [0.01, 53], [0.01, 53.01], [0, 53.0%d], [0, 53]]]]\n", 1+k%8)
		fmt.Fprintf(&b, "  seasons:\n  - crop: Spring oats\n    id: %s\n    crop_code: AVESA\n    year: 2026\n    plans:\n    - order: 1\n      id: %s\n      operation: seeding\n      product: Firth oats\n      rate: %d kg/ha\n",
			id('s', i), id('p', i), 100+k)
	}
	fmt.Fprintf(&b, "implements: []\ntractors: []\nproducts:\n- name: Firth oats\n  id: %s\n  kind: seed\n  note: state %d\n  price: %d EUR/t\npeople: []\nmarks: []\n", id('o', 0), k, 100+k)
	return b.String()
}

// kills is how often the writer is killed; DRAWBAR_KILLS asks for more.
func kills(t *testing.T) int {
	if n, err := strconv.Atoi(os.Getenv("DRAWBAR_KILLS")); err == nil {
		return n
	}
	if testing.Short() {
		return 5
	}
	return 20
}

// kill starts a writer and kills it some time after it has said something; it gives
// the last it said.
func kill(t *testing.T, dir string, from, words int, after time.Duration) (last string) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childEnv+"="+dir, fromEnv+"="+strconv.Itoa(from))
	var stderr strings.Builder
	cmd.Stderr = &stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	timer := time.AfterFunc(time.Minute, func() { cmd.Process.Kill() })
	if words == 0 {
		timer.Reset(after)
	}
	for in := bufio.NewScanner(out); in.Scan(); {
		last = in.Text()
		if words--; words == 0 {
			timer.Reset(after)
		}
	}
	cmd.Wait()
	timer.Stop()
	if stderr.Len() > 0 {
		t.Fatalf("the writer: %s", stderr.String())
	}
	return last
}

// A writer that is killed at any instant leaves the state that it last said it had,
// or the next one; never a part, and nothing that keeps the next writer out.
func TestKilled(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	dir := t.TempDir()
	rng := rand.New(rand.NewPCG(7, 11))
	at, inWrite := 0, 0
	for round := range kills(t) {
		last := kill(t, dir, at+1, 1+rng.IntN(4), time.Duration(rng.IntN(20_000))*time.Microsecond)
		said, err := strconv.Atoi(last)
		if err != nil { // "open"
			said = at
		}
		c, err := catalog.OpenExisting(ctx, dir)
		if err != nil {
			t.Fatalf("round %d: %v", round, err)
		}
		got := exported(t, c, catalog.YAML)
		if err := c.Close(); err != nil {
			t.Fatal(err)
		}
		switch {
		case got == state(said), said == 0 && !strings.Contains(got, "state"):
			at = said
		case got == state(said+1):
			at = said + 1
		default:
			t.Fatalf("round %d: after state %d was said (-it +found):\n%s", round, said, cmp.Diff(state(said), got))
		}
		if at == said {
			inWrite++
		}
		if wrong := schemaOf(t, filepath.Join(dir, catalog.FileName)); !strings.Contains(strings.Join(wrong, "\n"), "integrity ok") || strings.Contains(strings.Join(wrong, "\n"), "foreign key of") {
			t.Fatalf("round %d: %q", round, wrong)
		}
	}
	t.Logf("%d states written, killed %d times, %d of them before the next state was in", at, kills(t), inWrite)
}

// A program that is killed while it brings a catalogue up leaves one that opens.
func TestKilledInMigration(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("testdata/versions/1.sql")
	if err != nil {
		t.Fatal(err)
	}
	want, err := os.ReadFile("testdata/versions/1.yaml")
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(3, 5))
	for round := range max(kills(t)/2, 3) {
		dir := t.TempDir()
		script(t, filepath.Join(dir, catalog.FileName), string(text))
		kill(t, dir, 1, 0, time.Duration(rng.IntN(30_000))*time.Microsecond)
		c, err := catalog.OpenExisting(t.Context(), dir)
		if err != nil {
			t.Fatalf("round %d: %v", round, err)
		}
		got := exported(t, c, catalog.YAML)
		if err := c.Close(); err != nil {
			t.Fatal(err)
		}
		if got != string(want) && !strings.Contains(got, "state ") {
			t.Errorf("round %d (-want +got):\n%s", round, cmp.Diff(string(want), got))
		}
	}
}
