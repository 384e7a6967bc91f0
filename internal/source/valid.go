package source

import (
	"bytes"
	"time"

	"drawbar/controller"
	"drawbar/nmea"
	"drawbar/replay"
)

// ValidSentence returns a check whether a line ends in a sentence of plain text
// with a good checksum; a chance hit in binary data does not count. The check
// keeps state: one for each source.
func ValidSentence() func(line []byte) bool {
	var r nmea.Reader
	return func(line []byte) bool {
		line = line[max(0, bytes.LastIndexAny(line, "$!")):]
		if textBytes(line) < len(line) {
			return false
		}
		before := r.Tally().Sentences
		r.Line(time.Time{}, line)
		return r.Tally().Sentences > before
	}
}

// ValidReport returns a check whether a profile reads a line, its header line
// included. The check keeps state: one for each source.
func ValidReport(p *controller.Profile) func(line []byte) bool {
	d := p.NewDecoder()
	return func(line []byte) bool {
		_, e := d.Line(line)
		return e == nil || e.Reason == controller.ReasonHeader
	}
}

// validFor is the check where the configuration gives none.
func validFor(s replay.Stream) func(line []byte) bool {
	if s == replay.StreamGNSS {
		return ValidSentence()
	}
	return func(line []byte) bool { return len(line) >= 3 && textBytes(line) == len(line) }
}

// textBytes counts the bytes that stand in lines of text.
func textBytes(b []byte) (n int) {
	for _, c := range b {
		if c >= ' ' && c <= '~' || c == '\t' || c == '\r' || c == '\n' {
			n++
		}
	}
	return n
}
