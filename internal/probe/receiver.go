package probe

import (
	"bytes"
	"slices"
	"strings"
	"time"

	"drawbar/internal/source"
	"drawbar/nmea"
)

// mostTypes bounds the types of sentence that are told apart.
const mostTypes = 64

// known lists the formatters that receivers send by the standard (NMEA 0183) and
// whether drawbar reads them. One of them makes the port a receiver's; a good
// checksum alone may be a controller's.
func known() map[string]bool {
	return map[string]bool{
		"GGA": true, "GNS": true, "RMC": true, "GLL": true, "VTG": true, "ZDA": true, "GST": true, "HDT": true, "THS": true,
		"GSA": false, "GSV": false, "GBS": false, "GRS": false, "DTM": false, "TXT": false, "HDG": false, "HDM": false, "ROT": false,
	}
}

// listener gathers what a receiver's lines say.
type listener struct {
	r      *Receiver
	used   map[string]bool
	valid  func([]byte) bool
	types  map[string]int // index into r.Sentences
	clocks [len(clockFields)]clock
	reader nmea.Reader
	last   nmea.Fix
	steps  []float64 // s from fix to fix
}

// receive reads the lines as a receiver's.
func receive(lines []Line) *Receiver {
	l := listener{
		r:    &Receiver{Sentences: []Sentence{}, Quality: nmea.QualityNone.String(), Heading: HeadingNone},
		used: known(), valid: source.ValidSentence(), types: map[string]int{},
	}
	for _, line := range lines {
		l.fixes(l.reader.Line(line.At, line.Text))
		for _, s := range sentencesIn(line.Text) {
			if l.valid(s) {
				l.sentence(s)
			}
		}
	}
	l.fixes(l.reader.Flush())
	l.finish(lines)
	return l.r
}

func (l *listener) fixes(fixes []nmea.Fix) {
	for _, f := range fixes {
		if step := f.Time.Sub(l.last.Time).Seconds(); l.r.Fixes > 0 && step > 0 {
			l.steps = append(l.steps, step)
		}
		l.r.Fixes++
		l.last = f
		if f.Has&nmea.HasHeading != 0 {
			l.r.Heading, l.r.HeadingDeg = HeadingMeasured, number(f.HeadingDeg, 1)
		}
	}
}

// sentence takes note of one with a good checksum.
func (l *listener) sentence(s []byte) {
	fields := strings.Split(string(s[1:len(s)-3]), ",")
	talker, formatter := "", fields[0]
	if len(formatter) >= 2 && formatter[0] != 'P' {
		talker, formatter = formatter[:2], formatter[2:]
	}
	i, is := l.types[formatter]
	if !is {
		if i = len(l.r.Sentences); i == mostTypes {
			return
		}
		l.types[formatter] = i
		l.r.Sentences = append(l.r.Sentences, Sentence{Formatter: formatter, Talkers: []string{}, Used: l.used[formatter]})
	}
	t := &l.r.Sentences[i]
	t.Count++
	if talker != "" && !slices.Contains(t.Talkers, talker) {
		t.Talkers = append(t.Talkers, talker)
	}
	if (formatter == "HDT" || formatter == "THS") && l.r.Heading == HeadingNone && len(fields) > 1 {
		l.r.Heading = HeadingEmpty
	}
	if (formatter == "HDT" || formatter == "THS") && len(fields) > 1 && fields[1] != "" {
		if v, ok := decimal(fields[1]); ok {
			l.r.Heading, l.r.HeadingDeg = HeadingMeasured, number(v, 1)
		}
	}
	for k, c := range clockFields {
		if c.formatter == formatter {
			l.clocks[k].count++
			if c.field < len(fields) {
				l.clocks[k].take(fields[c.field])
			}
		}
	}
}

// finish works out rates and says what the last fix was.
func (l *listener) finish(lines []Line) {
	r := l.r
	r.BadChecksum = int(l.reader.Tally().BadChecksum)
	pace := l.pace(lines)
	for i := range r.Sentences {
		s := &r.Sentences[i]
		s.PerS = pace.of(s.Count)
		slices.Sort(s.Talkers)
	}
	slices.SortFunc(r.Sentences, func(a, b Sentence) int { return strings.Compare(a.Formatter, b.Formatter) })
	best := l.best()
	if best != nil {
		r.Clock = best.last
	}
	if r.Fixes == 0 {
		return
	}
	if step := median(l.steps); step > 0 {
		r.FixesPerS = number(1/step, 2)
	}
	f := l.last
	r.Quality = f.Quality.String()
	r.LatDeg, r.LonDeg = number(f.LatDeg, 7), number(f.LonDeg, 7)
	if f.Has&nmea.HasSatellites != 0 {
		n := int(f.Satellites)
		r.Satellites = &n
	}
	if f.Has&nmea.HasDate != 0 {
		at := f.Time.UTC()
		r.Time = &at
	}
	// A receiver that goes on saying the time after its last fix has lost it.
	day := f.Time.Sub(f.Time.Truncate(24 * time.Hour)).Seconds()
	r.Lost = best != nil && pace.stepS > 0 && between(day, best.lastS) > 2.5*pace.stepS
}

// known counts the sentences that make a receiver.
func (r *Receiver) known() (n int) {
	formatters := known()
	for _, s := range r.Sentences {
		if _, is := formatters[s.Formatter]; is {
			n += s.Count
		}
	}
	return n
}

// sentences counts all with a good checksum.
func (r *Receiver) sentences() (n int) {
	for _, s := range r.Sentences {
		n += s.Count
	}
	return n
}

// sentencesIn cuts a line at each '$' and '!', and each piece behind its
// checksum.
func sentencesIn(line []byte) (all [][]byte) {
	for {
		start := bytes.IndexAny(line, "$!")
		if start < 0 {
			return all
		}
		line = line[start:]
		end := bytes.IndexAny(line[1:], "$!") + 1
		if end == 0 {
			end = len(line)
		}
		piece := line[:end]
		if star := bytes.LastIndexByte(piece, '*'); star > 0 && star+3 <= len(piece) {
			all = append(all, piece[:star+3])
		}
		line = line[end:]
	}
}
