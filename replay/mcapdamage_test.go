package replay

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"testing"
	"time"

	"drawbar/internal/testkit"
)

// endsOf are the offsets in a recorded file behind each line's message record,
// without its check.
func endsOf(raw []byte) (ends []int) {
	for at := len(mcapMagic); at+recordHead <= len(raw); {
		end := at + recordHead + int(binary.LittleEndian.Uint64(raw[at+1:]))
		if raw[at] == opMessage {
			ends = append(ends, end)
		}
		at = end
	}
	return ends
}

// Cut at any byte, every whole line before the cut is read and the rest is told.
func TestMCAPCutAnywhere(t *testing.T) {
	t.Parallel()
	lines := workday(900)
	raw := recorded(t, lines, true)
	ends := endsOf(raw)
	if len(raw) < 64<<10 || len(ends) != len(lines) {
		t.Fatalf("%d bytes, %d lines: too small a session", len(raw), len(ends))
	}
	step := 1
	if testing.Short() || testkit.Race {
		step = 61
	}
	texts := make([][]byte, len(lines))
	for i, l := range lines {
		texts[i] = []byte(l.text)
	}
	from := len(raw) - 64<<10
	for part := range 4 {
		t.Run(fmt.Sprint(part), func(t *testing.T) {
			t.Parallel()
			for cut := from + part<<14; cut < from+(part+1)<<14; cut += step {
				want := 0
				for want < len(ends) && ends[want] <= cut {
					want++
				}
				m := NewMCAPReader(bytes.NewReader(raw[:cut]), "mill.mcap")
				n, told := 0, int64(-1)
				for {
					e, err := m.Next()
					var corrupt *CorruptError
					if err == io.EOF {
						break
					}
					if errors.As(err, &corrupt) {
						if told >= 0 {
							t.Fatalf("cut at %d: told twice: %v", cut, corrupt)
						}
						told = corrupt.Offset + corrupt.Bytes
						continue
					}
					if err != nil || n >= want || !bytes.Equal(e.Line, texts[n]) || !e.At.Equal(lines[n].at) {
						t.Fatalf("cut at %d: line %d: %q, %v; want %d lines", cut, n, e.Line, err, want)
					}
					n++
				}
				if n != want || m.Closed() {
					t.Fatalf("cut at %d: got %d lines, closed %v; want %d, false", cut, n, m.Closed(), want)
				}
				if told >= 0 && told != int64(cut) {
					t.Fatalf("cut at %d: the damage that is told ends at %d", cut, told)
				}
			}
		})
	}
}

// The same for the start of a file, and for packed files, which lose what is in
// the chunk that is cut.
func TestMCAPCutAtTheStartAndPacked(t *testing.T) {
	t.Parallel()
	lines := workday(40)
	raw := recorded(t, lines, true)
	packed, _ := packedOf(t, raw)
	ends := endsOf(raw)
	for cut := range raw {
		_, got, damage := readMCAP(t, raw[:cut])
		want := 0
		for want < len(ends) && ends[want] <= cut {
			want++
		}
		sameLines(t, got, lines[:want])
		if cut == 0 && len(damage) != 1 {
			t.Errorf("empty file: damage %v, want one", damage)
		}
	}
	for cut := range packed {
		m, got, damage := readMCAP(t, packed[:cut])
		if len(got) != 0 {
			sameLines(t, got, lines)
		} else if cut > 0 && len(damage) == 0 && cut != len(mcapMagic) && m.hasHead && m.packed {
			t.Errorf("packed, cut at %d: lines are lost and nothing is told", cut)
		}
		if m.Closed() {
			t.Errorf("packed, cut at %d of %d: taken for whole", cut, len(packed))
		}
	}
}

// Any byte that is changed is told, with a place at or before it, costs at most the
// line or the chunk it is in, and never changes a line.
func TestMCAPFlips(t *testing.T) {
	t.Parallel()
	lines := workday(60)
	raw := recorded(t, lines, true)
	short, _ := packedOf(t, raw)
	long, _ := packedOf(t, recorded(t, workday(7000), true))
	for _, c := range []struct {
		name  string
		file  []byte
		lines []line
		most  int // lines that one byte may cost
		step  int
	}{
		{"recorded", raw, lines, 1, 1},
		{"packed", short, lines, len(lines), 1},
		{"packed in chunks", long, workday(7000), 4500, 1009},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			file := bytes.Clone(c.file)
			step := c.step
			if testkit.Race {
				step *= 7
			}
			for at := 0; at < len(file); at += step {
				for _, flip := range []byte{1, 0x20, 0x80, 0xff} {
					file[at] ^= flip
					_, got, damage := readMCAP(t, file)
					file[at] ^= flip
					if len(damage) == 0 {
						t.Fatalf("byte %d xor %#x: nothing is told", at, flip)
					}
					if d := damage[0]; d.Offset > int64(at) || d.Why == "" || d.File != "mill.mcap" {
						t.Errorf("byte %d xor %#x: told of %+v", at, flip, d)
					}
					if lost := len(c.lines) - len(got); lost > c.most || lost < 0 {
						t.Fatalf("byte %d xor %#x: %d lines lost, want at most %d; %v", at, flip, lost, c.most, damage)
					}
					i := 0
					for _, g := range got {
						for i < len(c.lines) && c.lines[i] != g {
							i++
						}
						if i == len(c.lines) {
							t.Fatalf("byte %d xor %#x: a line that was never recorded: %v", at, flip, g)
						}
						i++
					}
				}
			}
		})
	}
}

// Holes of zeros, as a disk leaves where power went before a block was written.
func TestMCAPHoles(t *testing.T) {
	t.Parallel()
	lines := workday(300)
	raw := recorded(t, lines, false)
	ends := endsOf(raw)
	for _, c := range []struct{ from, to int }{{4096, 8192}, {4096, len(raw)}, {0, 4096}, {len(raw) - 100, len(raw)}, {9000, 9001}} {
		file := bytes.Clone(raw)
		clear(file[c.from:c.to])
		m, got, damage := readMCAP(t, file)
		var want []line
		for i, end := range ends {
			if end <= c.from || i > 0 && ends[i-1]+checkSize >= c.to {
				want = append(want, lines[i])
			}
		}
		sameLines(t, got, want)
		if len(damage) == 0 || m.Closed() {
			t.Errorf("zeros from %d to %d: damage %v, closed %v", c.from, c.to, damage, m.Closed())
		}
	}
}

// A file that is no session at all, or made to hurt, ends soon and says so.
func TestMCAPHostile(t *testing.T) {
	t.Parallel()
	record := func(op byte, content ...byte) []byte {
		b := binary.LittleEndian.AppendUint64([]byte{op}, uint64(len(content)))
		return append(b, content...)
	}
	huge := append([]byte(mcapMagic), opMessage, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff)
	bomb := make([]byte, chunkHead+4)
	binary.LittleEndian.PutUint64(bomb[16:], 1<<40)
	binary.LittleEndian.PutUint32(bomb[28:], 4)
	copy(bomb[32:], "zstd")
	nested := bytes.Repeat(append([]byte{opMessage, 0, 0, 1, 0, 0, 0, 0, 0}, 0x80, 4, 0, 0, 0, 0, 0, 0, 0), 1<<15)
	for name, file := range map[string][]byte{
		"nothing":   {},
		"text":      bytes.Repeat([]byte("2026-05-14T13:05:10.200Z gnss $GPGGA\n"), 1000),
		"zeros":     make([]byte, 1<<20),
		"huge":      huge,
		"huge op 0": append([]byte(mcapMagic), 0, 0xff, 0xff, 0xff, 0x7f, 0, 0, 0, 0),
		"bomb":      append([]byte(mcapMagic), record(opChunk, bomb...)...),
		"nested":    append([]byte(mcapMagic), nested...),
		"heads":     bytes.Repeat([]byte{5, 0, 0, 1, 0, 0, 0, 0, 0}, 1<<17),
		"chunks":    bytes.Repeat(record(opChunk, bomb...), 1<<12),
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			begin := time.Now()
			m, got, damage := readMCAP(t, file)
			if len(got) > 0 || len(damage) == 0 || m.Closed() {
				t.Errorf("%d lines, damage %v, closed %v; want none, some, false", len(got), damage, m.Closed())
			}
			if d := time.Since(begin); d > 20*time.Second {
				t.Errorf("%d bytes took %v", len(file), d)
			}
			if n := len(m.in.buf); n > 8<<20 {
				t.Errorf("%d bytes of memory for %d", n, len(file))
			}
		})
	}
}

// Another program's file with our topics is read, and its own records are passed
// over.
func TestMCAPForeign(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"lz4", "none"} {
		t.Run(name, func(t *testing.T) { t.Parallel(); foreign(t, name) })
	}
}

func FuzzMCAP(f *testing.F) {
	// Small, so that the fuzzer has more to do than to make them smaller.
	raw := recorded(f, workday(3), true)
	f.Add(raw)
	f.Add(raw[:len(raw)-200])
	packed, _ := packedOf(f, raw)
	f.Add(packed)
	f.Add([]byte(mcapMagic))
	f.Fuzz(func(t *testing.T, file []byte) {
		if len(file) > 1<<18 {
			return
		}
		m, lines, damage := readMCAP(t, file)
		if len(damage) > len(file)+4 {
			t.Errorf("%d damages in %d bytes", len(damage), len(file))
		}
		if len(lines) == 0 {
			return
		}
		// Whatever is read of it is kept by mending it.
		var mended bytes.Buffer
		c, err := Pack(NewMCAPReader(bytes.NewReader(file), "x"), &mended, nil)
		if errors.Is(err, ErrRefused) {
			return // times of another program
		}
		if err != nil {
			t.Fatalf("pack: %v", err)
		}
		again, got, bad := readMCAP(t, mended.Bytes())
		sameLines(t, got, lines)
		if len(bad) > 0 || !again.Closed() || c.Total() != len(lines) || c.Cut == m.Closed() && !c.Cut {
			t.Errorf("mended: damage %v, closed %v, contents %+v of %d lines", bad, again.Closed(), c, len(lines))
		}
	})
}
