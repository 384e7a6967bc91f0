package replay

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"testing"
	"time"

	"drawbar/internal/sim"

	"github.com/foxglove/mcap/go/mcap"
	"pgregory.net/rapid"
)

// line is an event that owns its bytes.
type line struct {
	at     time.Time
	stream Stream
	text   string
}

func (l line) event() Event { return Event{At: l.at, Stream: l.stream, Line: []byte(l.text)} }

func (l line) String() string { return string(AppendCapture(nil, l.event())) }

// workday is a few lines as they come from a cab, with times that step back,
// lines of noise and an empty line.
func workday(n int) []line {
	at := time.Date(2026, 5, 14, 13, 5, 10, 200e6, time.UTC)
	var out []line
	for i := range n {
		at = at.Add(37 * time.Millisecond)
		if i == 17 {
			at = at.AddDate(-56, 0, 0)
		}
		l := line{at: at}
		switch i % 5 {
		case 0:
			l.text = fmt.Sprintf("$GPGGA,1305%02d.20,5318.0000000,N,00000.1080000,W,4,14,0.8,112.4,M,47.2,M,1.0,0101*5C", i%60)
		case 1:
			l.stream, l.text = StreamController, fmt.Sprintf("work=1 sections=1111 tank.1.rate=%d.5kg/ha*1F", i)
		case 2:
			l.text = "\x00\xff\r\n\\noise" + string(rune(i))
		case 3:
			l.stream, l.text = StreamOperator, fmt.Sprintf(`{"field":"Mill Piece %d"}`, i/20)
		}
		out = append(out, l)
	}
	return out
}

func testHead() Head {
	return Head{
		Session: "000001-20260514T130510Z", Version: "test", Zone: "Europe/London", Config: "units: metric\n", Field: "Mill Piece",
		Start: time.Date(2026, 5, 14, 13, 5, 10, 0, time.UTC), Part: 1, First: 1,
	}
}

// recorded is the file that a recorder makes of the lines.
func recorded(t testing.TB, lines []line, closed bool) []byte {
	t.Helper()
	var file bytes.Buffer
	r, err := NewRecorder(&file, "mill.mcap", testHead())
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range lines {
		if err := r.Append(l.event()); err != nil {
			t.Fatal(err)
		}
	}
	if closed {
		err = r.Close()
	} else {
		err = r.Flush()
	}
	if err != nil {
		t.Fatal(err)
	}
	return file.Bytes()
}

func packedOf(t testing.TB, raw []byte) ([]byte, Contents) {
	t.Helper()
	var file bytes.Buffer
	c, err := Pack(NewMCAPReader(bytes.NewReader(raw), "mill.mcap"), &file, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := Verify(NewMCAPReader(bytes.NewReader(raw), "mill.mcap"), NewMCAPReader(bytes.NewReader(file.Bytes()), "packed")); err != nil {
		t.Fatal(err)
	}
	return file.Bytes(), c
}

// readMCAP reads all that is in a file.
func readMCAP(t testing.TB, file []byte) (m *MCAPReader, lines []line, damage []*CorruptError) {
	t.Helper()
	m = NewMCAPReader(bytes.NewReader(file), "mill.mcap")
	for {
		e, err := m.Next()
		var corrupt *CorruptError
		switch {
		case err == io.EOF:
			return m, lines, damage
		case errors.As(err, &corrupt):
			damage = append(damage, corrupt)
		case err != nil:
			t.Fatal(err)
		default:
			lines = append(lines, line{e.At, e.Stream, string(e.Line)})
		}
	}
}

// sameLines fails where the lines are not the ones wanted.
func sameLines(t testing.TB, got, want []line) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("got %d lines, want %d", len(got), len(want))
	}
	for i := range got {
		if got[i] != want[i] {
			t.Fatalf("line %d:\n got %v want %v", i, got[i], want[i])
		}
	}
}

func TestMCAPReadsWhatWasRecorded(t *testing.T) {
	t.Parallel()
	lines := workday(200)
	for _, closed := range []bool{false, true} {
		raw := recorded(t, lines, closed)
		m, got, damage := readMCAP(t, raw)
		sameLines(t, got, lines)
		if len(damage) > 0 || m.Closed() != closed || m.Packed() {
			t.Errorf("closed %v: damage %v, Closed %v, Packed %v", closed, damage, m.Closed(), m.Packed())
		}
		if h, ok := m.Head(); !ok || h != testHead() {
			t.Errorf("got head %+v, want %+v", h, testHead())
		}
		packed, c := packedOf(t, raw)
		m, got, damage = readMCAP(t, packed)
		sameLines(t, got, lines)
		if len(damage) > 0 || !m.Closed() || !m.Packed() || c.Cut == closed {
			t.Errorf("packed: damage %v, Closed %v, Packed %v, contents %+v", damage, m.Closed(), m.Packed(), c)
		}
		if is, ok := m.Contents(); !ok || fmt.Sprint(is) != fmt.Sprint(c) || c.Total() != 200 || len(c.Fields) != 11 {
			t.Errorf("got contents %+v, want %+v", is, c)
		}
	}
}

// The format's own library reads both kinds of file: by its index where there is
// one, and in file order.
func TestMCAPIsReadByTheLibrary(t *testing.T) {
	t.Parallel()
	lines := workday(3000)
	raw := recorded(t, lines, true)
	packed, _ := packedOf(t, raw)
	for name, c := range map[string]struct {
		file  []byte
		index bool
	}{"recorded": {raw, false}, "cut": {raw[:len(raw)-50], false}, "packed": {packed, false}, "packed by index": {packed, true}} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r, err := mcap.NewReader(bytes.NewReader(c.file))
			if err != nil {
				t.Fatal(err)
			}
			defer r.Close()
			if p := r.Header().Profile; p != "drawbar" {
				t.Errorf("got profile %q, want drawbar", p)
			}
			it, err := r.Messages(mcap.UsingIndex(c.index), mcap.InOrder(mcap.FileOrder))
			if err != nil {
				t.Fatal(err)
			}
			var got []line
			var msg mcap.Message
			for {
				_, ch, m, err := it.NextInto(&msg)
				if err != nil {
					if err != io.EOF && name != "cut" {
						t.Fatal(err)
					}
					break
				}
				l := line{at: time.Unix(0, int64(m.LogTime)).UTC(), text: string(m.Data)}
				for s := StreamGNSS; s <= StreamOperator; s++ {
					if ch.Topic == s.String() {
						l.stream = s
					}
				}
				if m.PublishTime != m.LogTime || m.Sequence != uint32(len(got)+1) || ch.MessageEncoding != "bytes" || ch.SchemaID != 0 {
					t.Fatalf("message %+v on %+v", m, ch)
				}
				got = append(got, l)
			}
			sameLines(t, got, lines)
			if c.index {
				info, err := r.Info()
				if err != nil {
					t.Fatal(err)
				}
				if n := info.Statistics.MessageCount; n != uint64(len(lines)) || len(info.MetadataIndexes) != 2 || len(info.ChunkIndexes) == 0 {
					t.Errorf("got %d messages, %d metadata, %d chunks", n, len(info.MetadataIndexes), len(info.ChunkIndexes))
				}
			}
		})
	}
}

// Any lines are read back as they were recorded, packed or not.
func TestMCAPRoundTrip(t *testing.T) {
	t.Parallel()
	times := rapid.Map(rapid.Int64(), func(ns int64) time.Time {
		const most = (1<<63-1)/1_000_000_000 - 1
		return time.Unix(ns%most, ns%1_000_000_000).UTC()
	})
	rapid.Check(t, func(t *rapid.T) {
		lines := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) line {
			return line{
				at:     times.Draw(t, "at"),
				stream: Stream(rapid.IntRange(0, 2).Draw(t, "stream")),
				text:   string(rapid.SliceOfN(rapid.Byte(), 0, 200).Draw(t, "text")),
			}
		}), 0, 50).Draw(t, "lines")
		var raw, packed bytes.Buffer
		r, err := NewRecorder(&raw, "x", testHead())
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range lines {
			if err := r.Append(l.event()); err != nil {
				t.Fatalf("%v: %v", l, err)
			}
		}
		if err := r.Close(); err != nil {
			t.Fatal(err)
		}
		if _, err := Pack(NewMCAPReader(bytes.NewReader(raw.Bytes()), "x"), &packed, nil); err != nil {
			t.Fatal(err)
		}
		for _, file := range [][]byte{raw.Bytes(), packed.Bytes()} {
			m := NewMCAPReader(bytes.NewReader(file), "x")
			for i, want := range lines {
				e, err := m.Next()
				if got := (line{e.At, e.Stream, string(e.Line)}); err != nil || got != want || m.Seq() != uint32(i+1) {
					t.Fatalf("line %d: got %v, %v, want %v", i, got, err, want)
				}
			}
			if _, err := m.Next(); err != io.EOF || !m.Closed() {
				t.Fatalf("end: %v, closed %v", err, m.Closed())
			}
		}
	})
}

// simDay records the working day of the simulator until it has n lines.
func simDay(t testing.TB, n int) []line {
	t.Helper()
	errEnough := errors.New("enough")
	var lines []line
	_, err := sim.Run(sim.Day(1), func(at time.Time, stream string, text []byte) error {
		l := line{at: at, text: string(text)}
		for s := StreamGNSS; s <= StreamOperator; s++ {
			if stream == s.String() {
				l.stream = s
			}
		}
		if lines = append(lines, l); len(lines) == n {
			return errEnough
		}
		return nil
	})
	if err != nil && !errors.Is(err, errEnough) {
		t.Fatal(err)
	}
	return lines
}
