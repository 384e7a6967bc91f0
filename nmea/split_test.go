package nmea

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// lines are the pieces of a stream that is pushed in chunks that end where cuts
// says.
func lines(stream []byte, cuts ...int) (all []string) {
	var s Splitter
	emit := func(line []byte) { all = append(all, string(line)) }
	from := 0
	for _, to := range append(cuts, len(stream)) {
		s.Push(slices.Clone(stream[from:to]), emit)
		from = to
	}
	s.Flush(emit)
	return all
}

func TestSplitter(t *testing.T) {
	t.Parallel()
	full := strings.Repeat("x", maxLine)
	for _, tc := range []struct {
		name, stream string
		want         []string
	}{
		{"line ends", "a\nb\r\nc\r\r\n\nd", []string{"a", "b", "c", "", "d"}},
		{"a return within a line stays", "a\rb\r\n", []string{"a\rb"}},
		{"a return at the very end", "a\n\r", []string{"a"}},
		{"nothing", "", nil},
		{"just as long as may be", full + "\n", []string{full}},
		{"one byte longer", full + "y\n", []string{full, "y"}},
		{"nothing is dropped from an overlong piece", full[:maxLine-1] + "\r" + "y\n", []string{full[:maxLine-1] + "\r", "y"}},
		{"a sentence is kept whole", full[:maxLine-10] + "$GPGGA,130510*00\n", []string{full[:maxLine-10], "$GPGGA,130510*00"}},
		{"an AIS sentence too", full[:maxLine-10] + "!AIVDM,130510*00\n", []string{full[:maxLine-10], "!AIVDM,130510*00"}},
		{"but none that began long ago", "$" + full + "\n", []string{"$" + full[:maxLine-1], "x"}},
		{"overlong twice", full + full + "\n", []string{full, full}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			if got := lines([]byte(tc.stream)); !slices.Equal(got, tc.want) {
				t.Errorf("got %d pieces, want %d:\ngot  %.200q\nwant %.200q", len(got), len(tc.want), got, tc.want)
			}
		})
	}
}

// Any chopping of the bytes gives the same lines, and nothing but line ends is
// lost.
func TestSplitterChops(t *testing.T) {
	t.Parallel()
	piece := rapid.OneOf(
		rapid.SampledFrom([]string{"\n", "\r\n", "\r\r\n", "\r", "$", "!", "$GPGGA,1*00", "\x00\xff"}),
		rapid.Map(rapid.IntRange(0, 2*maxLine), func(n int) string { return strings.Repeat("z", n) }),
	)
	rapid.Check(t, func(t *rapid.T) {
		stream := []byte(strings.Join(rapid.SliceOfN(piece, 0, 12).Draw(t, "stream"), ""))
		cuts := rapid.SliceOfN(rapid.IntRange(0, len(stream)), 0, 20).Draw(t, "cuts")
		slices.Sort(cuts)
		whole := lines(stream)
		if chopped := lines(stream, cuts...); !slices.Equal(chopped, whole) {
			t.Fatalf("cut at %v: got %.300q, want %.300q", cuts, chopped, whole)
		}
		kept := strings.NewReplacer("\r", "", "\n", "")
		if got, want := kept.Replace(strings.Join(whole, "")), kept.Replace(string(stream)); got != want {
			t.Fatalf("got %.300q, want %.300q", got, want)
		}
	})
}

// FuzzSplitter builds long streams out of short inputs, n times the unit between
// head and end, so that the fuzzer reaches the limits without long inputs.
func FuzzSplitter(f *testing.F) {
	f.Add([]byte("$GPGGA,1*00\r\n"), []byte("$$x\r\r\n\n"), uint16(1), []byte(""), uint16(3), uint16(5))
	f.Add([]byte(""), []byte("$!"), uint16(5000), []byte("\r\n"), uint16(4095), uint16(2))
	f.Add([]byte("\n"), []byte("\xb5"), uint16(4090), []byte("$GPGGA,1*00\n"), uint16(4096), uint16(1))
	f.Fuzz(func(t *testing.T, head, unit []byte, n uint16, end []byte, a, b uint16) {
		n = min(n, uint16(3*maxLine/max(1, len(unit))))
		stream := slices.Concat(head, bytes.Repeat(unit, int(n)), end)
		cutA, cutB := min(int(a), len(stream)), min(int(b), len(stream))
		whole, chopped := lines(stream), lines(stream, min(cutA, cutB), max(cutA, cutB))
		if !slices.Equal(whole, chopped) {
			t.Fatalf("cut at %d and %d: got %q, want %q", cutA, cutB, chopped, whole)
		}
		for _, line := range whole {
			if len(line) > maxLine {
				t.Fatalf("a piece of %d bytes", len(line))
			}
		}
	})
}

// found lists the candidates of a line that have a checksum, bad ones marked.
func found(line string) (all []string) {
	for s := scan([]byte(line)); ; {
		c, more := s.next()
		if !more {
			return all
		}
		switch c.verdict {
		case verdictGood:
			all = append(all, string(c.text))
		case verdictBad:
			all = append(all, "bad "+string(c.text))
		}
	}
}

func TestScan(t *testing.T) {
	t.Parallel()
	const good, hdt = "$GPHDT,274.07,T*03", "$GPHDT,74.20,T*34"
	for _, tc := range []struct {
		name, line string
		want       []string
	}{
		{"plain", good, []string{good}},
		{"lower case", "$GNTHS,341.3344,A*1f", []string{"$GNTHS,341.3344,A*1f"}},
		{"two dollars", "$" + good, []string{good}},
		{"noise before", "\x00\xffab*12$G!" + good, []string{good}},
		{"noise behind", good + "\x00\xff*00", []string{good}},
		{"two in a line", good + hdt, []string{good, hdt}},
		{"two with noise", "x" + good + "\rzz" + hdt + "\r", []string{good, hdt}},
		{"a bad one before a good one", "$GPHDT,274.07,T*04" + hdt, []string{"bad $GPHDT,274.07,T*04", hdt}},
		{"bad", "$GPHDT,275.07,T*03", []string{"bad $GPHDT,275.07,T*03"}},
		{"bad, returns behind", "$GPHDT,275.07,T*03\r\r", []string{"bad $GPHDT,275.07,T*03"}},
		{"wrong and noise behind is no sentence", "$GPHDT,275.07,T*03x", nil},
		{"digits missing", "$GPHDT,274.07,T*0", nil},
		{"no digits", "$GPHDT,274.07,T*0G", nil},
		{"no asterisk", "$GPHDT,274.07,T", nil},
		{"an asterisk in the text", "$GPTXT,a*b*4A", []string{"$GPTXT,a*b*4A"}},
		{"AIS", "!AIVDM,1,1,,B,13aGhtw0R<OJf=6LgQ?Ad1FF05`L,0*24", []string{"!AIVDM,1,1,,B,13aGhtw0R<OJf=6LgQ?Ad1FF05`L,0*24"}},
		{"a logger's banner", "************ program startup 16:40:33 09-25-2005 ************", nil},
		{"empty", "", nil},
		{"a lone dollar", "$", nil},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			if got := found(tc.line); !slices.Equal(got, tc.want) {
				t.Errorf("%q:\ngot  %q\nwant %q", tc.line, got, tc.want)
			}
		})
	}
}

// Noise before a good sentence never harms it, and noise behind it neither, as
// long as it does not begin within the sentence.
func TestNoiseAroundASentence(t *testing.T) {
	t.Parallel()
	const good = "$GPGGA,195959.00,1541.31258893,N,05130.51204125,W,2,06,1.5,9.2,M,-37.6,M,4.0,0138*7E"
	rapid.Check(t, func(t *rapid.T) {
		before := rapid.SliceOfN(rapid.Byte(), 0, 200).Draw(t, "before")
		behind := rapid.SliceOfN(rapid.Byte(), 0, 200).Draw(t, "behind")
		line := string(before) + good + string(behind)
		if got := found(line); !slices.Contains(got, good) {
			t.Fatalf("%q: got %q, without the good one", line, got)
		}
	})
}

// The work grows with the length of the line, not with its square: a megabyte
// of the worst bytes takes milliseconds, where the square would take minutes.
func TestScanOfHostileLines(t *testing.T) {
	t.Parallel()
	const n = 1 << 20
	for _, unit := range []string{"$", "!", "*", "*00", "$*0", "!*00", "$!", "$GPGGA*"} {
		line := strings.Repeat(unit, n/len(unit))
		count := 0
		for s := scan([]byte(line)); ; count++ {
			if _, more := s.next(); !more {
				break
			}
		}
		if want := strings.Count(line, "$") + strings.Count(line, "!"); count != want {
			t.Errorf("%s...: got %d candidates, want %d", unit, count, want)
		}
	}
}

// However many names noise makes up, the tally stays small, and every sentence
// is in exactly one counter.
func TestTallyIsBounded(t *testing.T) {
	t.Parallel()
	var r Reader
	const n = 5000
	for i := range n {
		r.Line(session, []byte(sealed(fmt.Sprintf("GP%c%c%c,1", 'A'+i%26, 'A'+i/26%26, 'A'+i/676))))
		r.Line(session, []byte(sealed(fmt.Sprintf("P\xff%d,1", i))))
	}
	r.Line(session, []byte("$GPGGA,1*00"))
	r.Line(session, []byte("$GPQQQ,1*00"))
	r.Line(session, []byte("neither"))
	r.Line(session, []byte(" \r"))
	r.Line(session, []byte(sealed("GPGGA,1,x,N,00004.0000,W,1,08,0.9,30.0,M,47.0,M,,")))
	y := r.Tally()
	counts := y.Counts()
	if len(counts) > maxFormatters+1+int(kindCount)*int(resultCount) {
		t.Errorf("got %d counters, want at most %d names", len(counts), maxFormatters)
	}
	var good, bad uint64
	for _, c := range counts {
		if c.Result == ResultBadChecksum {
			bad += c.N
		} else {
			good += c.N
		}
	}
	if good != y.Sentences || bad != y.BadChecksum || y.Sentences != 2*n+1 || y.BadChecksum != 2 {
		t.Errorf("counters add up to %d good, %d bad; tally has %d, %d; want %d, 2", good, bad, y.Sentences, y.BadChecksum, 2*n+1)
	}
	if y.Lines != 2*n+5 || y.Unparsed != 6 {
		t.Errorf("got %d lines, %d unparsed, want %d, 6 (one line without a sentence, one GGA, and the made-up GGA, RMC, VTG and ZDA that are cut short)", y.Lines, y.Unparsed, 2*n+5)
	}
	if !slices.IsSortedFunc(counts, func(a, b Count) int {
		return strings.Compare(fmt.Sprint(a.Formatter, a.Result+'0'), fmt.Sprint(b.Formatter, b.Result+'0'))
	}) {
		t.Errorf("counters are not in order: %v", counts)
	}
}
