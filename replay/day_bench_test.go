package replay

import (
	"bufio"
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime/metrics"
	"testing"
	"time"

	"drawbar/coverage"
	"drawbar/internal/sim"
)

// BenchmarkReplayDay replays twelve hours of work from a file of capture text,
// with ground and swaths: 10 Hz of GGA, RMC and VTG, five reports a second, 18 m
// in ten sections, two tanks.
func BenchmarkReplayDay(b *testing.B) { benchReplayDay(b, false) }

// BenchmarkReplayDayWatched is the same with the field's boundary, and with skips
// remembered on the way, as where files are written.
func BenchmarkReplayDayWatched(b *testing.B) { benchReplayDay(b, true) }

func benchReplayDay(b *testing.B, watched bool) {
	sc := sim.Day(1)
	path := filepath.Join(b.TempDir(), "day.capture")
	truth := writeCapture(b, path, sc)
	setup := setupOf(sc)
	if watched {
		setup.Coverage.WatchSkips, setup.Coverage.Boundary = true, coverage.Boundary{{sc.Field.Ring()}}
	}
	var peak, sentences float64
	b.ReportAllocs()
	for b.Loop() {
		s, heap := replayFile(b, path, setup)
		sum := s.Summary()
		if got := sum.Operations[0].Area.GrossM2; got < truth.GrossM2*0.999 || got > truth.GrossM2*1.001 {
			b.Fatalf("gross %.0f m2, truth %.0f", got, truth.GrossM2)
		}
		peak, sentences = max(peak, heap), float64(sum.GNSS.Sentences)
	}
	one := b.Elapsed().Seconds() / float64(b.N)
	b.ReportMetric(truth.End.Sub(truth.Start).Seconds()/one, "x-real-time")
	b.ReportMetric(sentences/one, "sentences/s")
	b.ReportMetric(peak/1e6, "MB-peak-heap")
	b.ReportMetric(0, "ns/op") // the ratio says it
}

// writeCapture writes what a scenario sends as capture text.
func writeCapture(b *testing.B, path string, sc sim.Scenario) *sim.Truth {
	b.Helper()
	f, err := os.Create(path)
	if err != nil {
		b.Fatal(err)
	}
	w := bufio.NewWriterSize(f, 1<<20)
	var line []byte
	truth, err := sim.Run(sc, func(at time.Time, stream string, text []byte) error {
		line = AppendCapture(line[:0], Event{At: at, Stream: streamOf(stream), Line: text})
		_, err := w.Write(line)
		return err
	})
	if err := errors.Join(err, w.Flush(), f.Close()); err != nil {
		b.Fatal(err)
	}
	return truth
}

// replayFile replays a capture and returns the finished session and the largest
// heap in bytes that was seen on the way.
func replayFile(b *testing.B, path string, setup Setup) (*Session, float64) {
	b.Helper()
	f, err := os.Open(path)
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	setup.Coverage.OnSwath = func(coverage.Swath) {}
	s, err := NewSession(setup)
	if err != nil {
		b.Fatal(err)
	}
	heap := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}}
	peak, n := uint64(0), 0
	r := NewCaptureReader(f, path)
	for {
		e, err := r.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			b.Fatal(err)
		}
		s.Feed(e)
		if n++; n%4096 == 0 {
			metrics.Read(heap)
			peak = max(peak, heap[0].Value.Uint64())
		}
	}
	s.Finish()
	return s, float64(peak)
}
