package store

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// session records n lines into a new session of dir and returns its file; it has an
// end if closed.
func session(t testing.TB, dir string, n int, closed bool) string {
	t.Helper()
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r, err := f.Start(clock, testHead, Options{})
	if err != nil {
		t.Fatal(err)
	}
	appendLines(t, r, 0, n)
	file := filepath.Join(dir, r.State().File)
	if !closed {
		// As a kill leaves it.
		if err := r.file.Close(); err != nil {
			t.Fatal(err)
		}
		return file
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	return file
}

func TestPack(t *testing.T) {
	t.Parallel()
	for _, closed := range []bool{true, false} {
		dir := t.TempDir()
		file := session(t, dir, 500, closed)
		before, err := os.Stat(file)
		if err != nil {
			t.Fatal(err)
		}
		m, err := Pack(file)
		if err != nil || !m.Packed || len(m.Damage) > 0 || m.Kept != "" || m.Contents.Cut == closed || m.Bytes >= before.Size() {
			t.Errorf("closed %v: %+v, %v", closed, m, err)
		}
		lines, seqs := read(t, false, file)
		wantNumbered(t, lines, seqs, 500)
		if p := Inspect(file); !p.Packed || p.Contents.Cut == closed || p.Contents.Total() != 500 || p.Head.Config != testHead.Config || p.Busy {
			t.Errorf("closed %v: inspected %+v", closed, p)
		}
		again, err := Pack(file)
		if err != nil || again.Packed {
			t.Errorf("packed twice: %+v, %v", again, err)
		}
		wantFiles(t, dir, filepath.Base(file))
	}
}

// wantFiles fails unless dir has these files and no others but the lock.
func wantFiles(t testing.TB, dir string, want ...string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		if e.Name() != lockName {
			got = append(got, e.Name())
		}
	}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("files %q, want %q", got, want)
	}
}

// A file with damage in its middle keeps all other lines, and stays under another
// name; a cut end costs nothing more.
func TestPackMends(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := session(t, dir, 500, true)
	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	at := bytes.Index(whole, []byte("line 250")) + 2
	whole[at] ^= 4
	write := func(b []byte) {
		t.Helper()
		if err := os.WriteFile(file, b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write(whole)
	m, err := Pack(file)
	if err != nil || len(m.Damage) != 1 || m.Damage[0].Offset > int64(at) || m.Kept != file+Damaged || m.Contents.Total() != 499 || m.Contents.Missing != 1 {
		t.Fatalf("%+v, %v", m, err)
	}
	lines, seqs := read(t, false, file)
	wantNumbered(t, lines, seqs, 499)
	if kept, err := os.ReadFile(m.Kept); err != nil || !bytes.Equal(kept, whole) {
		t.Errorf("the damaged file was not kept as it was: %v", err)
	}
	sessions, err := List(dir)
	if err != nil || len(sessions) != 1 || sessions[0].Complete() || sessions[0].Missing() != 1 {
		t.Errorf("listed %+v, %v", sessions, err)
	}

	write(whole)
	if m, err = Pack(file); err != nil || m.Kept != file+Damaged+".2" {
		t.Errorf("a second time: kept as %q, %v", m.Kept, err)
	}
	whole[at] ^= 4
	write(whole[:len(whole)-300])
	if m, err = Pack(file); err != nil || m.Kept != "" || !m.Contents.Cut || len(m.Damage) != 1 {
		t.Errorf("cut: %+v, %v", m, err)
	}
}

func TestPackRefuses(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for name, text := range map[string]string{"words.mcap": "nonsense", "list.mcap": strings.Repeat("1,2,3\n", 1000)} {
		file := filepath.Join(dir, name)
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		if _, err := Pack(file); err == nil || !strings.Contains(err.Error(), "no session") {
			t.Errorf("%s: got %v", name, err)
		}
		if got, err := os.ReadFile(file); err != nil || string(got) != text {
			t.Errorf("%s: changed to %q, %v", name, got, err)
		}
	}
	wantFiles(t, dir, "list.mcap", "words.mcap")
	if _, err := Pack(filepath.Join(dir, "missing.mcap")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("missing file: got %v", err)
	}
	// What power leaves of a file that had just been made.
	for name, b := range map[string][]byte{"empty.mcap": {}, "zeros.mcap": make([]byte, 4096)} {
		file := filepath.Join(dir, name)
		if err := os.WriteFile(file, b, 0o644); err != nil {
			t.Fatal(err)
		}
		if m, err := Pack(file); err != nil || !m.Packed || m.Contents.Total() != 0 {
			t.Errorf("%s: %+v, %v", name, m, err)
		}
	}
}

func TestInUse(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	f, r := begin(t, dir, Options{})
	appendLines(t, r, 0, 10)
	if _, err := Open(dir); !errors.Is(err, ErrInUse) {
		t.Errorf("a second daemon: got %v, want ErrInUse", err)
	}
	file := filepath.Join(dir, r.State().File)
	if _, err := Pack(file); !errors.Is(err, ErrInUse) {
		t.Errorf("pack what is being recorded: got %v, want ErrInUse", err)
	}
	if done, err := Mend(dir); err != nil || len(done) > 0 {
		t.Errorf("mend: %+v, %v; want it passed over", done, err)
	}
	sessions, err := List(dir)
	if err != nil || len(sessions) != 1 || !sessions[0].Busy() {
		t.Errorf("listed %+v, %v", sessions, err)
	}
	if err := errors.Join(r.Close(), f.Close()); err != nil {
		t.Fatal(err)
	}
	if done, err := Mend(dir); err != nil || len(done) != 1 {
		t.Errorf("mend after the end: %+v, %v", done, err)
	}
}

// Whatever an interrupted packing leaves, the session is there again.
func TestRecover(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := session(t, dir, 20, true)
	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	left := filepath.Join(dir, "."+filepath.Base(file)+".12345.tmp")
	if err := os.WriteFile(left, whole[:100], 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(file, file+Damaged); err != nil {
		t.Fatal(err)
	}
	if err := Recover(dir); err != nil {
		t.Fatal(err)
	}
	wantFiles(t, dir, filepath.Base(file))
	lines, seqs := read(t, false, file)
	wantNumbered(t, lines, seqs, 20)
}

func TestNamesCountUp(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	a := filepath.Base(session(t, dir, 1, true))
	b := filepath.Base(session(t, dir, 1, true))
	if a != "000001-20260514T130510Z.mcap" || b != "000002-20260514T130510Z.mcap" {
		t.Errorf("got %s, %s", a, b)
	}
	for _, c := range []struct {
		file, session string
		part          int
		ok            bool
	}{
		{"data/000001-x.mcap", "000001-x", 1, true},
		{"000001-x.2.mcap", "000001-x", 2, true},
		{"000001-x.12.mcap", "000001-x", 12, true},
		{"000001-x.1.mcap", "000001-x.1", 1, true},
		{"000001-x.02.mcap", "000001-x.02", 1, true},
		{"v1.5 field.mcap", "v1.5 field", 1, true},
		{".hidden.mcap", "", 0, false},
		{"x.mcap.damaged", "", 0, false},
		{".mcap", "", 0, false},
	} {
		s, n, ok := splitName(c.file)
		if ok != c.ok || ok && (s != c.session || n != c.part) {
			t.Errorf("%s: got %q, %d, %v", c.file, s, n, ok)
		}
	}
}
