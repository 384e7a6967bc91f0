package probe

import (
	"bytes"
	"slices"

	"drawbar/controller"
)

// MostLines is how many lines are looked at: the last ones of a long recording.
const MostLines = 100_000

// Analyse says what the lines are. It does not change them.
func Analyse(lines []Line, o Options) Finding {
	f := Finding{Source: o.Address, Bytes: o.Bytes, Advice: []string{}}
	if o.Baud > 0 {
		f.Baud = &o.Baud
	}
	if o.Listened > 0 {
		f.ListenedS = number(o.Listened.Seconds(), 1)
	}
	lines = lines[max(0, len(lines)-MostLines):]
	text := make([]Line, 0, len(lines)) // lines that are not blank
	var all, printable int
	for _, l := range lines {
		if len(bytes.TrimSpace(l.Text)) == 0 {
			continue
		}
		text = append(text, l)
		all += len(l.Text)
		printable += printableBytes(l.Text)
	}
	f.Lines = len(text)

	r := receive(text)
	c := &Controller{}
	if r.known() == 0 {
		c = control(text, o)
	}
	switch {
	case r.known() > 0, r.sentences() > 0 && c.Reports == 0, r.BadChecksum >= 2 && 2*r.BadChecksum >= len(text):
		r.OtherBytes = 20*printable < 19*all
		f.Carries, f.Receiver = CarriesReceiver, r
	case c.Reports > 0:
		f.Carries, f.Controller = CarriesController, c
	case o.NotFound, len(text) > 0 && 4*printable < 3*all, len(text) == 0 && o.Bytes > 0:
		f.Carries = CarriesNoise
	case len(text) == 0:
		f.Carries = CarriesSilence
	default:
		f.Carries, f.Controller = CarriesText, c
	}
	advice, wrong := advise(&f, o)
	f.Advice, f.wrong = append(f.Advice, advice...), wrong
	f.YAML = snippet(&f, c, o)
	return f
}

// printableBytes counts the bytes of text.
func printableBytes(b []byte) (n int) {
	for _, c := range b {
		if c >= ' ' && c <= '~' || c == '\t' || c == '\r' {
			n++
		}
	}
	return n
}

// proposed tells whether a profile for the lines could be thought of.
func (c *Controller) proposed() bool { return c.From == fromProposal && c.Reports > 0 }

// spec is the proposed profile.
func (c *Controller) spec(checksum string, header bool) controller.ProfileSpec {
	s := controller.ProfileSpec{Kind: "delimited", Separator: c.Separator, Header: header, Checksum: checksum}
	for _, col := range c.Columns {
		if col.spec != nil {
			s.Columns = append(s.Columns, *col.spec)
		}
	}
	return s
}

// lastOf keeps the last n different values, the latest last.
func lastOf(values []string, v string, n int) []string {
	if i := slices.Index(values, v); i >= 0 {
		values = slices.Delete(values, i, i+1)
	}
	values = append(values, v)
	return values[max(0, len(values)-n):]
}
