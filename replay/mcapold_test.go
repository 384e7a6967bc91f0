package replay

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The files of the first version of the format are read for ever.
func TestMCAPReadsOldFiles(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"recorded-1.mcap", "cut-1.mcap", "packed-1.mcap"} {
		file, err := os.ReadFile(filepath.Join("testdata", "mcap", name))
		if err != nil {
			t.Fatal(err)
		}
		m, got, damage := readMCAP(t, file)
		want, cut := workday(60), strings.HasPrefix(name, "cut")
		if cut {
			want = want[:50]
		}
		sameLines(t, got, want)
		if h, ok := m.Head(); !ok || h != testHead() || m.Closed() == cut || cut != (len(damage) == 1) {
			t.Errorf("%s: head %+v, closed %v, damage %v", name, h, m.Closed(), damage)
		}
		if c, ok := m.Contents(); ok != m.Packed() || ok && (c.Total() != 60 || len(c.Fields) != 4) {
			t.Errorf("%s: contents %+v, %v", name, c, ok)
		}
	}
}

// A file of a later format says so and is read as far as it is known.
func TestMCAPOfALaterVersion(t *testing.T) {
	t.Parallel()
	pairs := testHead().pairs()
	for i := range pairs {
		if pairs[i].key == "format" {
			pairs[i].value = "2"
		}
	}
	var out sliceWriter
	r, err := NewRecorder(&out, "x", testHead())
	if err != nil {
		t.Fatal(err)
	}
	r.buf.b = r.buf.b[:0]
	if err := r.lib.WriteMetadata(metadataOf(headName, pairs)); err != nil {
		t.Fatal(err)
	}
	r.endRecord(0)
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	_, _, damage := readMCAP(t, out.b)
	if len(damage) != 1 || !strings.Contains(damage[0].Why, "format 2 of a later version") {
		t.Errorf("told of %v", damage)
	}
	if !bytes.Contains(out.b, []byte("format\x01\x00\x00\x002")) {
		t.Error("the file has no format 2")
	}
}
