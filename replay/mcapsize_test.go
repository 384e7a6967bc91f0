package replay

import (
	"bytes"
	"io"
	"os"
	"testing"
)

// mostPerHour is 40 MB for a day of ten hours.
const mostPerHour = 4e6

// A working day, 10 Hz GGA, RMC and VTG and five reports a second, packs to at most
// 40 MB for ten hours. The first hour stands for it; DRAWBAR_LONG=1 takes the whole
// day.
func TestDayPacks(t *testing.T) {
	t.Parallel()
	n := 130_000
	if os.Getenv("DRAWBAR_LONG") != "" {
		n = 1 << 30
	}
	lines := simDay(t, n)
	hours := lines[len(lines)-1].at.Sub(lines[0].at).Hours()
	raw := recorded(t, lines, true)
	packed, c := packedOf(t, raw)
	if got := float64(len(packed)) / hours; got > mostPerHour {
		t.Errorf("packed %.2f MB/h, want at most %.2f", got/1e6, mostPerHour/1e6)
	}
	if c.Total() != len(lines) || c.Begin.IsZero() || c.Damaged+c.Missing > 0 {
		t.Errorf("contents %+v of %d lines", c, len(lines))
	}
	t.Logf("%d lines, %.2f h: raw %.2f MB/h, packed %.2f MB/h", len(lines), hours, float64(len(raw))/1e6/hours, float64(len(packed))/1e6/hours)
}

func BenchmarkMCAP(b *testing.B) {
	lines := simDay(b, 130_000)
	hours := lines[len(lines)-1].at.Sub(lines[0].at).Hours()
	events := make([]Event, len(lines))
	text := 0
	for i, l := range lines {
		events[i] = l.event()
		text += len(l.text)
	}
	raw := recorded(b, lines, true)
	packed, _ := packedOf(b, raw)
	perEvent := func(b *testing.B) {
		b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(events)), "ns/event")
		b.SetBytes(int64(text))
		b.ReportAllocs()
	}
	b.Run("record", func(b *testing.B) {
		for b.Loop() {
			r, err := NewRecorder(discard{}, "x", testHead())
			for i := range events {
				err = r.Append(events[i])
			}
			if err != nil || r.Close() != nil {
				b.Fatal(err)
			}
		}
		perEvent(b)
		b.ReportMetric(float64(len(raw))/hours, "bytes/h")
	})
	for _, c := range []struct {
		name string
		file []byte
	}{{"read recorded", raw}, {"read packed", packed}} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				m := NewMCAPReader(bytes.NewReader(c.file), "x")
				n := 0
				for {
					_, err := m.Next()
					if err == io.EOF {
						break
					}
					if err != nil {
						b.Fatal(err)
					}
					n++
				}
				if n != len(events) {
					b.Fatalf("%d lines, want %d", n, len(events))
				}
			}
			perEvent(b)
		})
	}
	b.Run("pack", func(b *testing.B) {
		for b.Loop() {
			if _, err := Pack(NewMCAPReader(bytes.NewReader(raw), "x"), io.Discard, nil); err != nil {
				b.Fatal(err)
			}
		}
		perEvent(b)
		b.ReportMetric(float64(len(packed))/hours, "bytes/h")
	})
}
