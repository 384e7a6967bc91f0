package store

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"drawbar/replay"
)

// fixed is a line with a fix, i tenths of a second on.
func fixed(i int) replay.Event {
	text := fmt.Sprintf("GPGGA,%s,5318.0600,N,00000.0720,W,4,12,0.7,60.0,M,47.0,M,1.0,0000", clock.Add(time.Duration(i)*100*time.Millisecond).Format("150405.00"))
	sum := byte(0)
	for _, c := range []byte(text) {
		sum ^= c
	}
	return replay.Event{At: clock.Add(time.Duration(i) * 100 * time.Millisecond), Stream: replay.StreamGNSS, Line: fmt.Appendf(nil, "$%s*%02X", text, sum)}
}

// What a shelf lists is what List finds, through everything that befalls a folder;
// asked a second time it looks into open files alone, and says the same.
func TestShelfListsAsList(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	shelf := NewShelf(dir)
	looks := 0
	compare := func(after string) {
		t.Helper()
		want, err := List(dir)
		if err != nil {
			t.Fatal(err)
		}
		for range 2 {
			// The folder has not been changed for a while, so that the shelf may trust its time.
			looks++
			if err := os.Chtimes(dir, time.Time{}, clock.AddDate(-1, 0, (looks+1)/2)); err != nil {
				t.Fatal(err)
			}
			got, err := shelf.List()
			if err != nil {
				t.Fatal(err)
			}
			// Of one that is being recorded only what a list needs is kept up.
			ignore := cmp.FilterPath(func(p cmp.Path) bool { return p.Last().String() == ".Contents" }, cmp.Comparer(func(a, b replay.Contents) bool {
				return a.Begin.Equal(b.Begin) && a.End.Equal(b.End)
			}))
			if d := cmp.Diff(want, got, ignore, cmp.Comparer(func(a, b error) bool { return (a == nil) == (b == nil) })); d != "" {
				t.Fatalf("after %s, look %d: (-List +Shelf)\n%s", after, looks, d)
			}
		}
	}
	compare("nothing")
	first := session(t, dir, 50, true)
	compare("a session was recorded")
	if _, err := Pack(first); err != nil {
		t.Fatal(err)
	}
	compare("it was packed")
	cut := session(t, dir, 50, false)
	compare("one was cut off")
	_, r := begin(t, dir, Options{})
	compare("one has begun")
	append1 := func(from, to int) {
		t.Helper()
		for i := from; i < to; i++ {
			if err := r.Append(fixed(i)); err != nil {
				t.Fatal(err)
			}
		}
		r.Flush()
	}
	append1(0, 100)
	compare("it has fixes")
	append1(100, 300)
	compare("it has more")
	if err := os.WriteFile(filepath.Join(dir, "000001-notes.txt"), []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	compare("another file came")
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	compare("it has ended")
	if _, err := Mend(dir); err != nil {
		t.Fatal(err)
	}
	compare("all were mended and packed")
	if err := os.WriteFile(cut, []byte("no session"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Chtimes(dir, time.Time{}, clock); err != nil { // a file is replaced by a new one, as here
		t.Fatal(err)
	}
	compare("one is no session any more")
	if err := os.Remove(first); err != nil {
		t.Fatal(err)
	}
	compare("one was removed")
}

// The caller may do with a list what he likes.
func TestShelfKeepsItsOwn(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	session(t, dir, 5, true)
	shelf := NewShelf(dir)
	got, err := shelf.List()
	if err != nil {
		t.Fatal(err)
	}
	got[0].Parts[0].Bytes, got[0].Name = 0, ""
	again, err := shelf.List()
	if err != nil || again[0].Parts[0].Bytes == 0 || again[0].Name == "" {
		t.Errorf("got %+v, %v", again, err)
	}
	if _, err := NewShelf(filepath.Join(dir, "none")).List(); err == nil {
		t.Error("a folder that is not there was listed")
	}
}

// BenchmarkShelf is a folder of 5,000 packed sessions, listed for the first time and
// again.
func BenchmarkShelf(b *testing.B) {
	dir := b.TempDir()
	file := session(b, dir, 2000, true)
	if _, err := Pack(file); err != nil {
		b.Fatal(err)
	}
	text, err := os.ReadFile(file)
	if err != nil {
		b.Fatal(err)
	}
	for i := 1; i < 5000; i++ {
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("%06d-20260514T130510Z.mcap", i+1)), text, 0o600); err != nil {
			b.Fatal(err)
		}
	}
	if err := os.Chtimes(dir, time.Time{}, clock); err != nil {
		b.Fatal(err)
	}
	list := func(b *testing.B, s *Shelf) {
		b.Helper()
		if got, err := s.List(); err != nil || len(got) != 5000 {
			b.Fatalf("%d sessions, %v", len(got), err)
		}
	}
	b.Run("first", func(b *testing.B) {
		for b.Loop() {
			list(b, NewShelf(dir))
		}
	})
	b.Run("again", func(b *testing.B) {
		s := NewShelf(dir)
		list(b, s)
		for b.Loop() {
			list(b, s)
		}
	})
	b.Run("one-came", func(b *testing.B) {
		s := NewShelf(dir)
		list(b, s)
		for i := 0; b.Loop(); i++ {
			if err := os.Chtimes(dir, time.Time{}, clock.Add(time.Duration(i)*time.Second)); err != nil {
				b.Fatal(err)
			}
			list(b, s)
		}
	})
}
