package replay

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"strings"
	"testing"

	"drawbar/nmea"
)

// figuresOf runs a capture, passing over damaged lines, and returns the summary
// as it is published.
func figuresOf(t *testing.T, setup Setup, capture []byte) []byte {
	t.Helper()
	s, err := NewSession(setup)
	if err != nil {
		t.Fatal(err)
	}
	feedAll(t, s, bytes.NewReader(capture))
	b, err := json.Marshal(s.Summary())
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// A recording that is cut at any byte gives the result of its whole lines.
func TestSessionCutAnywhere(t *testing.T) {
	t.Parallel()
	tp := newTape()
	tp.pass(0, 6, 0, func(s float64) string { return "work=1 tank.1.rate=112.5kg/ha" })
	// Controller lines without a checksum: nothing in them shows a cut.
	text := bytes.ReplaceAll(tp.Bytes(), []byte("112.5kg/ha*"), []byte("112.5kg/ha #"))
	var plain []byte
	for _, line := range bytes.SplitAfter(text, []byte("\n")) {
		if i := bytes.Index(line, []byte(" #")); i >= 0 {
			line = append(line[:i:i], '\n')
		}
		plain = append(plain, line...)
	}
	for cut := len(plain) - 900; cut <= len(plain); cut++ {
		whole := plain[:bytes.LastIndexByte(plain[:cut], '\n')+1]
		got := figuresOf(t, drill(), plain[:cut])
		if want := figuresOf(t, drill(), whole); bytes.Equal(got, want) {
			continue
		}
		// Only the line end is missing.
		if cut < len(plain) && plain[cut] == '\n' && bytes.Equal(got, figuresOf(t, drill(), plain[:cut+1])) {
			continue
		}
		t.Fatalf("cut at %d of %d, %q:\n got %s", cut, len(plain), plain[len(whole):cut], got)
	}
}

// Damage to half of the sentences loses those sentences and nothing else: here
// all RMC are spoilt, so every epoch still has its GGA, and the ground is the
// same to the last figure.
func TestSessionHalfOfTheSentencesDamaged(t *testing.T) {
	t.Parallel()
	tp := newTape()
	tp.pass(0, 30, 0, on)
	rng := rand.New(rand.NewPCG(1, 2))
	var spoilt []byte
	n := 0
	for _, line := range bytes.SplitAfter(tp.Bytes(), []byte("\n")) {
		if i := bytes.Index(line, []byte("$GPRMC")); i >= 0 && n > 0 {
			line = bytes.Clone(line)
			at := i + 7 + rng.IntN(len(line)-i-12)
			switch rng.IntN(3) {
			case 0: // a bit flipped
				line[at] ^= 1 << rng.IntN(3)
				if line[at] == '\n' || line[at] == '\\' || line[at] < ' ' {
					line[at] = '~'
				}
			case 1: // cut
				line = append(line[:at:at], '\n')
			case 2: // noise before, and the end gone
				line = []byte(string(line[:i]) + `\x00\xffQ$` + string(line[i:at]) + "\n")
			}
		}
		n++
		spoilt = append(spoilt, line...)
	}
	var want, got Summary
	if err := json.Unmarshal(figuresOf(t, drill(), tp.Bytes()), &want); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(figuresOf(t, drill(), spoilt), &got); err != nil {
		t.Fatal(err)
	}
	if got.GNSS.Fixes != want.GNSS.Fixes || got.GNSS.Lines != want.GNSS.Lines {
		t.Errorf("got %+v, want the fixes and lines of %+v", got.GNSS, want.GNSS)
	}
	if got.GNSS.Sentences > want.GNSS.Sentences/2+1 {
		t.Errorf("%d of %d sentences came through, want half", got.GNSS.Sentences, want.GNSS.Sentences)
	}
	near(t, "gross", got.Operations[0].Area.GrossM2, want.Operations[0].Area.GrossM2, 0.001)
	near(t, "applied", *got.Operations[0].Products[0].Applied, *want.Operations[0].Products[0].Applied, 1e-5)
}

// FuzzSession feeds a session whatever may arrive: it must not panic, hang or
// give a number that JSON cannot hold.
func FuzzSession(f *testing.F) {
	tp := newTape()
	tp.pass(0, 2, 0, on)
	tp.line(2, "operator", `{"operation":"spraying","implement":{"mount":"towed","hitch_to_axle_m":4,"hitch_to_bar_m":5,"sections_m":[2,2]}}`)
	tp.line(2, "operator", `{"boundary":{"type":"Polygon","coordinates":[[[0,53],[0.1,53],[0.1,54],[0,53]]]},"tanks":[{"tank":2,"lag_s":3,"product":{"name":"x","kind":"liquid"}}]}`)
	tp.pass(2.1, 4, 3, func(float64) string { return "sections=10 tank.2.flow=40L/min" })
	f.Add(tp.Bytes())
	f.Add([]byte("2026-05-14T13:05:10.200Z gnss $GPGGA,235959.99,8959.9999,N,17959.9999,W,4,14,0.8,112.4,M,47.2,M,1.0,0101*00\n"))
	f.Add([]byte(strings.Repeat("0001-01-01T00:00:00Z controller work=1\n9999-12-31T23:59:59Z controller work=0\n", 3)))
	f.Fuzz(func(t *testing.T, capture []byte) {
		if len(capture) > 1<<16 {
			return
		}
		setup := drill()
		setup.Coverage.ReportLagS = 0.2
		figuresOf(t, setup, capture)
	})
}

// A plain log cut at any byte loses only what was not whole.
func TestLogCutAnywhere(t *testing.T) {
	t.Parallel()
	tp := newTape()
	tp.pass(0, 1, 0, on)
	var log []byte
	for _, line := range bytes.SplitAfter(tp.Bytes(), []byte("\n")) {
		if i := bytes.IndexByte(line, '$'); i >= 0 {
			log = append(log, line[i:]...)
		}
	}
	fixes := func(b []byte) (n int) {
		var r nmea.Reader
		var s nmea.Splitter
		feed := func(line []byte) { n += len(r.Line(begin, line)) }
		s.Push(b, feed)
		s.Flush(feed)
		return n + len(r.Flush())
	}
	for cut := range log {
		got := fixes(log[:cut])
		epochs := bytes.Count(log[:cut], []byte("\n"))/2 + bytes.Count(log[:cut], []byte("\n"))%2
		if got != epochs && !(log[cut] == '\n' && got == epochs+1) {
			t.Fatalf("cut at %d: %d fixes, want %d", cut, got, epochs)
		}
	}
}
