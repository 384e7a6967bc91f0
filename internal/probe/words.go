package probe

import (
	"fmt"
	"strconv"
	"strings"
)

// Words is the finding for people, lines of text.
func (f *Finding) Words() string {
	var b strings.Builder
	at := ""
	if f.Baud != nil {
		at = fmt.Sprintf(" at %d baud", *f.Baud)
	}
	switch f.Carries {
	case CarriesReceiver:
		fmt.Fprintf(&b, "%s carries a GNSS receiver%s.\n\n", f.Source, at)
		f.Receiver.words(&b)
	case CarriesController:
		fmt.Fprintf(&b, "%s carries a rate controller%s.\n\n", f.Source, at)
		f.Controller.words(&b, f.Lines)
	case CarriesText:
		fmt.Fprintf(&b, "%s carries text%s that no line profile reads.\n\n", f.Source, at)
		f.Controller.words(&b, f.Lines)
	case CarriesNoise:
		fmt.Fprintf(&b, "%s carries bytes that are no text: %d of them.\n", f.Source, f.Bytes)
	case CarriesSilence:
		fmt.Fprintf(&b, "%s is silent.\n", f.Source)
	}
	if len(f.Advice) > 0 {
		b.WriteString("\n")
	}
	for _, a := range f.Advice {
		fmt.Fprintf(&b, "- %s\n", a)
	}
	if f.YAML != "" {
		b.WriteString("\nFor the configuration:\n\n" + f.YAML)
	}
	return b.String()
}

func (r *Receiver) words(b *strings.Builder) {
	for _, s := range r.Sentences {
		rate := fmt.Sprintf("%d", s.Count)
		if s.PerS != nil {
			rate = trim(*s.PerS) + " a second"
		}
		fmt.Fprintf(b, "  %-6s %-14s %-12s %s\n", s.Formatter, rate, strings.Join(s.Talkers, " "), About(s.Formatter))
	}
	b.WriteString("\n")
	row := func(name, format string, args ...any) {
		fmt.Fprintf(b, "  %-10s %s\n", name, fmt.Sprintf(format, args...))
	}
	switch {
	case r.Fixes == 0:
		row("position", "none yet")
	case r.Lost:
		row("position", "lost; the last one was %s", QualityWords(r.Quality))
	default:
		row("position", "%.7f, %.7f (latitude, longitude)", *r.LatDeg, *r.LonDeg)
		row("quality", "%s", QualityWords(r.Quality))
	}
	if r.Satellites != nil {
		row("satellites", "%d", *r.Satellites)
	}
	if r.FixesPerS != nil {
		row("fixes", "%s a second", trim(*r.FixesPerS))
	}
	switch r.Heading {
	case HeadingMeasured:
		row("heading", "measured, %.1f degrees", *r.HeadingDeg)
	case HeadingEmpty:
		row("heading", "the receiver has a sentence for it, but no value yet")
	default:
		row("heading", "not measured")
	}
	switch {
	case r.Time != nil:
		row("time", "%s UTC", r.Time.Format("2006-01-02 15:04:05"))
	case r.Clock != "":
		row("time", "%s UTC, date not known", r.Clock)
	default:
		row("time", "not known yet")
	}
	if r.OtherBytes {
		row("besides", "bytes of a binary protocol, which are passed over")
	}
}

// About says what a sentence is for; NMEA 0183.
func About(formatter string) string {
	switch formatter {
	case "GGA", "GNS":
		return "position and its quality"
	case "RMC":
		return "position, speed, course, date"
	case "GLL":
		return "position"
	case "VTG":
		return "speed and course"
	case "ZDA":
		return "date and time"
	case "GST":
		return "how far the position may be out"
	case "HDT", "THS":
		return "measured heading"
	case "GSA", "GSV":
		return "satellites; not needed"
	default:
		return "not used"
	}
}

// QualityWords says what a fix is good for; the figures are common practice of
// receivers under open sky, no source.
func QualityWords(quality string) string {
	switch quality {
	case "rtk":
		return "RTK fixed: a few centimetres"
	case "float":
		return "RTK float: some decimetres"
	case "precise":
		return "precise, without a base station: some decimetres or better"
	case "dgnss":
		return "with corrections (differential): about a metre"
	case "autonomous":
		return "without corrections: some metres"
	case "estimated":
		return "estimated by the receiver, not measured: do not rely on it"
	case "simulated":
		return "simulated by the receiver: it is in a test mode"
	case "manual":
		return "entered by hand: the receiver is in a test mode"
	default:
		return "not stated"
	}
}

func (c *Controller) words(b *strings.Builder, lines int) {
	rate := ""
	if c.PerS != nil {
		rate = ", " + trim(*c.PerS) + " a second"
	}
	switch c.From {
	case fromConfig:
		fmt.Fprintf(b, "  The configured line profile (%s) reads %d of %d lines%s.\n", c.Kind, c.Reports, lines, rate)
	case fromKeyValue:
		fmt.Fprintf(b, "  Lines of kind keyvalue: %d of %d are read%s.\n", c.Reports, lines, rate)
	case fromProposal:
		fmt.Fprintf(b, "  Lines of kind %s: the proposed profile reads %d of %d%s.\n", c.Kind, c.Reports, lines, rate)
	default:
		fmt.Fprintf(b, "  %d lines%s: %s.\n", lines, rate, c.Why)
	}
	for _, d := range c.Decoded {
		fmt.Fprintf(b, "  %s\n", d)
	}
	for _, r := range c.Refused {
		fmt.Fprintf(b, "  %d refused: %s\n", r.Count, r.Example)
	}
	b.WriteString("\n  The last lines:\n")
	for _, s := range c.Samples {
		fmt.Fprintf(b, "    %s\n", s)
	}
	if len(c.Columns) == 0 {
		return
	}
	b.WriteString("\n  Columns:\n")
	for _, col := range c.Columns {
		name := strconv.Itoa(col.Number)
		if col.Name != "" {
			name += " " + col.Name
		}
		as := ""
		if col.spec != nil {
			as = " -> " + col.spec.Field
		}
		fmt.Fprintf(b, "    %-14s %-28s %s%s\n", name, shown([]byte(strings.Join(col.Samples, "  "))), col.Looks, as)
	}
}

func trim(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func list(words []string) string { return strings.Join(words, ", ") }
