package export

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"drawbar/internal/units"
	"drawbar/replay"
)

// Text is a summary for people: numbers in their units, times in their zone,
// warnings last.
type Text struct {
	Units units.System
	Zone  *time.Location // nil: UTC
}

// notice stands under every readable summary.
const notice = `This says what the machine reported, not what was allowed: the product label and
local rules decide. "Covered" means that a section was reported on. Positions and
areas come from satellite fixes and are no survey.
`

// Append writes the summary behind dst.
func (t Text) Append(dst []byte, s replay.Summary) []byte {
	b := bytes.NewBuffer(dst)
	t.session(b, s)
	for i, op := range s.Operations {
		t.operation(b, i+1, op)
	}
	if len(s.Operations) == 0 {
		b.WriteString("\nNo implement was stated, so there are no areas: name one with --config.\n")
	}
	if len(s.Marks) > 0 {
		b.WriteString("\nMarks\n")
	}
	for _, m := range s.Marks {
		fmt.Fprintf(b, "  %s  %s  %s", t.stamp(&m.Time), plain(m.Kind), place(m))
		if m.Note != "" {
			fmt.Fprintf(b, "  %s", strconv.Quote(m.Note))
		}
		b.WriteByte('\n')
	}
	if len(s.Warnings) > 0 {
		b.WriteString("\nWarnings\n")
	}
	for _, w := range s.Warnings {
		fmt.Fprintf(b, "  - %s\n", plain(w))
	}
	b.WriteString("\n" + notice)
	return b.Bytes()
}

func (t Text) session(b *bytes.Buffer, s replay.Summary) {
	row(b, "From", "%s", t.stamp(s.Start))
	row(b, "To", "%s", t.stamp(s.End))
	row(b, "Worked", "%s over %s", duration(s.WorkingS), t.Units.Show(units.Distance, s.WorkingDistanceM))
	row(b, "Travelled", "%s", t.Units.Show(units.Distance, s.DistanceM))
	g, c := s.GNSS, s.Controller
	row(b, "Receiver", "%s, %s, %s not readable", plural(g.Lines, "line"), plural(g.Sentences, "good sentence"), strconv.Itoa(g.Unparsed))
	row(b, "", "%s, %s", plural(g.BadChecksum, "bad checksum"), plural(g.Fixes, "fix"))
	row(b, "", "%s, %s in all", plural(g.Gaps, "gap"), duration(g.GapS))
	row(b, "Controller", "%s, %s, %d rejected", plural(c.Lines, "line"), plural(c.Reports, "report"), c.Rejected)
	row(b, "", "%s silent while moving", duration(c.StaleS))
}

func (t Text) operation(b *bytes.Buffer, number int, op replay.OperationFigures) {
	fmt.Fprintf(b, "\nOperation %d: %s, %s\n", number, named(op.Operation, "not named"), named(op.Field, "field not named"))
	row(b, "From", "%s", t.stamp(op.Start))
	row(b, "To", "%s", t.stamp(op.End))
	a := op.Area
	row(b, "Covered", "%s", t.Units.Show(units.Area, a.CoveredM2))
	share := ""
	if a.CoveredM2 > 0 {
		share = fmt.Sprintf(", %.1f %% of covered", 100*a.OverlapM2/a.CoveredM2)
	}
	row(b, "Overlap", "%s%s", t.Units.Show(units.Area, a.OverlapM2), share)
	if by := op.OverlapBy; a.OverlapM2 > 0 {
		row(b, "", "%s in turns, %s between passes, %s across (sections late)",
			t.Units.Show(units.Area, by.HeadlandM2), t.Units.Show(units.Area, by.BetweenPassesM2), t.Units.Show(units.Area, by.SectionsM2))
	}
	row(b, "Gross", "%s", t.Units.Show(units.Area, a.GrossM2))
	t.skips(b, op)
	row(b, "Field", "%s", t.maybe(units.Area, a.FieldM2))
	row(b, "Remaining", "%s", t.maybe(units.Area, a.RemainingM2))
	row(b, "Outside", "%s", t.maybe(units.Area, a.OutsideM2))
	for _, p := range op.Products {
		t.product(b, p)
	}
}

// mostSkips is how many skips are named with their place.
const mostSkips = 5

func (t Text) skips(b *bytes.Buffer, op replay.OperationFigures) {
	where := ""
	switch n := len(op.Skips); {
	case n > mostSkips:
		where = fmt.Sprintf(" in %d places, the %d largest:", n, mostSkips)
	case n > 0:
		where = " in " + plural(n, "place") + ":"
	}
	row(b, "Skipped", "%s%s", t.maybe(units.Area, op.Area.SkipM2), where)
	for i, k := range op.Skips {
		if i == mostSkips {
			break
		}
		row(b, "", "%s, %s wide, %s long, at %s %s", t.Units.Show(units.Patch, k.AreaM2), t.Units.Show(units.Length, k.WidthM), t.Units.Show(units.Length, k.LengthM),
			degrees(k.LatDeg, "N", "S"), degrees(k.LonDeg, "E", "W"))
	}
}

func (t Text) product(b *bytes.Buffer, p replay.ProductFigures) {
	amount, rate, ok := units.AmountOf(p.Unit)
	label := fmt.Sprintf("Tank %d", p.Tank)
	name := named(p.Name, "product not named")
	if !ok {
		row(b, label, "%s: amount unknown, on %s", name, t.Units.Show(units.Area, p.AreaM2))
		return
	}
	row(b, label, "%s: %s on %s", name, t.maybe(amount, p.Applied), t.Units.Show(units.Area, p.AreaM2))
	row(b, "", "%s on average, target %s", t.maybe(rate, p.MeanRate), t.maybe(rate, p.MeanTarget))
}

// row writes a label and its value; a row without a label goes on with the one
// above it.
func row(b *bytes.Buffer, label, format string, args ...any) {
	fmt.Fprintf(b, "  %-10s  %s\n", label, fmt.Sprintf(format, args...))
}

func (t Text) maybe(q units.Quantity, v *float64) string {
	if v == nil {
		return "unknown"
	}
	return t.Units.Show(q, *v)
}

// stamp is a moment of the summary in the reader's zone, to the second.
func (t Text) stamp(s *string) string {
	if s == nil {
		return "unknown"
	}
	at, err := time.Parse(time.RFC3339, *s)
	if err != nil {
		return *s
	}
	zone := t.Zone
	if zone == nil {
		zone = time.UTC
	}
	return at.In(zone).Format("2006-01-02 15:04:05 MST")
}

func named(name, without string) string {
	if name == "" {
		return without
	}
	return plain(name)
}

// plain is text without control characters: what was recorded may come from
// anywhere and must not steer a terminal.
func plain(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return utf8.RuneError
	}, s)
}

func plural(n int, what string) string {
	switch {
	case n == 1:
		return "1 " + what
	case what == "fix":
		return strconv.Itoa(n) + " fixes"
	}
	return strconv.Itoa(n) + " " + what + "s"
}

// duration is seconds in hours, minutes and seconds: "2 h 05 min", "12.0 s".
func duration(seconds float64) string {
	if seconds < 60 {
		return strconv.FormatFloat(seconds, 'f', 1, 64) + " s"
	}
	whole := int64(math.Round(seconds))
	if whole < 3600 {
		return fmt.Sprintf("%d min %02d s", whole/60, whole%60)
	}
	return fmt.Sprintf("%d h %02d min", whole/3600, whole%3600/60)
}

// place is where a mark lies, in degrees.
func place(m replay.MarkFigures) string {
	if m.Lat == nil || m.Lon == nil {
		return "place unknown"
	}
	return degrees(*m.Lat, "N", "S") + " " + degrees(*m.Lon, "E", "W")
}

func degrees(v float64, positive, negative string) string {
	side := positive
	if v < 0 {
		side = negative
	}
	return strconv.FormatFloat(math.Abs(v), 'f', 7, 64) + "° " + side
}
