package nmea

import (
	"bytes"
	"fmt"
	"io"
	"os/exec"
	"testing"
	"time"
)

// tenHertz is a made-up log of GGA, RMC and VTG at 10 Hz.
func tenHertz(epochs int) []byte {
	var b bytes.Buffer
	at := time.Date(2026, 5, 14, 6, 0, 0, 0, time.UTC)
	for i := range epochs {
		tod, lat := at.Format("150405.00"), fmt.Sprintf("53%011.8f,N,00004.12345678,W", 20+float64(i%3_000_000)*1e-5)
		for _, body := range []string{
			fmt.Sprintf("GNGGA,%s,%s,4,17,0.7,101.234,M,47.123,M,1.0,0133", tod, lat),
			fmt.Sprintf("GNRMC,%s,A,%s,4.321,%d.250,%s,,,R,V", tod, lat, i%360, at.Format("020106")),
			fmt.Sprintf("GNVTG,%d.250,T,,M,4.321,N,8.003,K,R", i%360),
		} {
			b.WriteString(sealed(body))
			b.WriteString("\r\n")
		}
		at = at.Add(100 * time.Millisecond)
	}
	return b.Bytes()
}

// readAll reads a log as it arrives from a port and returns how many fixes and
// sentences it held.
func readAll(log []byte, at time.Time) (fixes int, sentences uint64) {
	var (
		s Splitter
		r Reader
	)
	emit := func(line []byte) {
		fixes += len(r.Line(at, line))
	}
	s.Push(log, emit)
	s.Flush(emit)
	return fixes + len(r.Flush()), r.Tally().Sentences
}

// The three sentences of the full rate cost no allocation, fixes included.
func TestAllocations(t *testing.T) {
	log := tenHertz(600)
	var lines [][]byte
	var s Splitter
	s.Push(log, func(line []byte) { lines = append(lines, bytes.Clone(line)) })
	var (
		r     Reader
		clock LogClock
	)
	at := session
	next, fixes := 0, 0
	epoch := func() {
		for range 3 {
			clock.Line(lines[next])
			fixes += len(r.Line(at, lines[next]))
			at = at.Add(33 * time.Millisecond)
			next++
		}
	}
	for range 10 { // names, habit and buffers
		epoch()
	}
	if n := testing.AllocsPerRun(500, epoch); n != 0 {
		t.Errorf("an epoch of GGA, RMC and VTG allocates %v times, want 0", n)
	}
	if fixes != next/3 {
		t.Errorf("got %d fixes of %d epochs", fixes, next/3)
	}
}

func BenchmarkReader(b *testing.B) {
	for _, bc := range []struct {
		name  string
		log   func(b *testing.B) []byte
		fixes int
	}{
		{"log=multi-constellation-5hz", func(b *testing.B) []byte { return readLog(b, "multi-constellation-5hz.nmea") }, 151},
		{"log=rtk-10hz-gga-rmc", func(b *testing.B) []byte { return readLog(b, "rtk-10hz-gga-rmc.nmea") }, 122},
		{"log=binary-interleaved", func(b *testing.B) []byte { return readLog(b, "nmea-with-binary-interleaved.nmea") }, 130},
		{"made=10hz-gga-rmc-vtg", func(*testing.B) []byte { return tenHertz(36_000) }, 36_000},
	} {
		b.Run(bc.name, func(b *testing.B) {
			log := bc.log(b)
			b.SetBytes(int64(len(log)))
			b.ReportAllocs()
			var sentences uint64
			for b.Loop() {
				fixes, n := readAll(log, session)
				if fixes != bc.fixes {
					b.Fatalf("got %d fixes, want %d", fixes, bc.fixes)
				}
				sentences += n
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(sentences), "ns/sentence")
		})
	}
}

// BenchmarkDecode sets the two readers of a sentence side by side.
func BenchmarkDecode(b *testing.B) {
	for _, line := range []string{
		"$GPGGA,195959.00,1541.31258893,N,05130.51204125,W,2,06,1.5,9.2,M,-37.6,M,4.0,0138*7E",
		"$GPRMC,195959.00,A,1541.31258893,N,05130.51204125,W,0.26,147.44,140120,16.9,W,D*0B",
		"$GPVTG,147.44,T,164.31,M,0.26,N,0.49,K,D*2C",
	} {
		c, _ := firstCandidate(line)
		k := kindOf(c.body())
		var s sentence
		b.Run("path=fast/"+k.String(), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if !readFast(c.body(), k, &s) {
					b.Fatal("not taken")
				}
			}
		})
		b.Run("path=go-nmea/"+k.String(), func(b *testing.B) {
			b.ReportAllocs()
			var d decoder
			for b.Loop() {
				if !d.read(string(c.text), k, &s) {
					b.Fatal("not read")
				}
			}
		})
	}
}

// BenchmarkBesideGPSDecode reads the same log with this package and with
// gpsdecode of gpsd (Debian's gpsd-clients), which also makes JSON of it. The
// ratio is gpsdecode's time over ours, its start included.
func BenchmarkBesideGPSDecode(b *testing.B) {
	path, err := exec.LookPath("gpsdecode")
	if err != nil {
		b.Skip("gpsdecode is not installed; it is in Debian's gpsd-clients")
	}
	log := tenHertz(36_000)
	var ours, theirs time.Duration
	for b.Loop() {
		begin := time.Now()
		if fixes, _ := readAll(log, session); fixes != 36_000 {
			b.Fatalf("got %d fixes, want 36000", fixes)
		}
		ours += time.Since(begin)

		cmd := exec.Command(path, "-d")
		cmd.Stdin, cmd.Stdout, cmd.Stderr = bytes.NewReader(log), io.Discard, io.Discard
		begin = time.Now()
		if err := cmd.Run(); err != nil {
			b.Fatalf("gpsdecode: %v", err)
		}
		theirs += time.Since(begin)
	}
	b.ReportMetric(theirs.Seconds()/ours.Seconds(), "times-faster")
	b.ReportMetric(float64(len(log))/1e6/(ours.Seconds()/float64(b.N)), "MB/s-ours")
	b.ReportMetric(float64(len(log))/1e6/(theirs.Seconds()/float64(b.N)), "MB/s-gpsdecode")
}
