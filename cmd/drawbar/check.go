package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/config"
	"drawbar/internal/units"
	"drawbar/replay/statement"

	"github.com/spf13/cobra"
)

func newCheckCommand() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "check FILE",
		Short: "Check a configuration without running it",
		Long: `check reads a configuration and the boundary files that it names, and prints what
they mean with the defaults filled in: in words and units, or with --json under the
keys of the file. Nothing is opened and nothing is recorded.

Whatever is wrong is printed on stderr, one line each with file, line, column, what
stands there and what should stand there.`,
		Example: `  drawbar check mill-piece.yaml
  drawbar check --json mill-piece.yaml`,
		Args: usageArgs(cobra.ExactArgs(1), "name one configuration file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			file, err := config.Load(args[0])
			if err != nil {
				return err
			}
			if asJSON {
				e := json.NewEncoder(cmd.OutOrStdout())
				e.SetIndent("", "  ")
				e.SetEscapeHTML(false)
				return e.Encode(file)
			}
			return printConfig(cmd.OutOrStdout(), file)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the effective values as JSON, itself a configuration")
	return cmd
}

// printConfig writes a configuration in words: a table with the implement drawn
// below it.
func printConfig(w io.Writer, f config.File) error {
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	row := func(name, format string, args ...any) { fmt.Fprintf(t, "%s\t%s\n", name, fmt.Sprintf(format, args...)) }
	row("numbers", "in %s units", f.Units)
	row("times", "in %s", f.Timezone)
	row("receiver", "%s", portWords(f.GNSS.Source, f.GNSS.Baud))
	row("", "first sentence of an epoch arrives %s s after it", decimals(f.GNSS.LatencyS))
	row("", "%s", qualityWords(f))
	row("controller", "%s", portWords(f.Controller.Source, f.Controller.Baud))
	row("", "state unknown after %s s without a report while moving", decimals(f.Controller.StaleAfterS))
	row("", "a report describes the meter %s s before it arrived", decimals(f.Controller.ReportLagS))
	for i, line := range lineWords(f.Controller.Line, f.Tanks) {
		row(only(i == 0, "line"), "%s", line)
	}
	for i, line := range implementWords(f) {
		row(only(i == 0, "implement"), "%s", line)
	}
	for _, tank := range f.Tanks {
		row(fmt.Sprintf("tank %d", tank.Number), "%s", tankWords(tank, f.Units))
	}
	if len(f.Tanks) == 0 {
		row("tanks", "none stated")
	}
	row("field", "%s", fieldWords(f.Field))
	for _, warning := range f.Field.Warnings {
		row("", "warning: %s", warning)
	}
	for i, line := range fieldsWords(f) {
		row(only(i == 0, "fields"), "%s", line)
	}
	width, area := skipWords(f)
	row("skip", "narrower than %s", width)
	row("", "of at least %s", area)
	row("gap", "a swath bridges at most %s s between fixes", decimals(f.Limits.MaxGapS))
	row("jump", "nothing is painted across more than %s", f.Units.Show(units.Speed, f.Limits.MaxSpeedMPS))
	row("server", "%s", f.Listen)
	row("data", "%s", f.Data)
	if err := t.Flush(); err != nil {
		return err
	}
	if f.Implement == nil {
		return nil
	}
	_, err := io.WriteString(w, "\n"+drawImplement(*f.Implement, f.Units))
	return err
}

func only(is bool, s string) string {
	if is {
		return s
	}
	return ""
}

func decimals(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func portWords(source string, baud int) string {
	switch {
	case source == "":
		return "no source stated"
	case strings.Contains(source, "://"):
		return source
	case baud == 0:
		return source + ", baud rate to be found out"
	default:
		return fmt.Sprintf("%s at %d baud", source, baud)
	}
}

func qualityWords(f config.File) string {
	switch config.QualityName(f.GNSS.MinQuality) {
	case "dgps":
		return "painted with differential positions or better"
	case "float":
		return "painted with RTK float or fixed positions"
	case "rtk":
		return "painted with RTK fixed positions only"
	default:
		return "painted with positions of any quality"
	}
}

// lineWords describes the line profile.
func lineWords(s controller.ProfileSpec, tanks []coverage.Tank) []string {
	var lines []string
	switch s.Kind {
	case "delimited":
		separator := strconv.Quote(s.Separator)
		switch s.Separator {
		case "":
			separator = strconv.Quote(",")
		case "space":
			separator = "blanks"
		}
		lines = append(lines, "delimited: columns between "+separator+only(s.Header, ", named by the first line"))
	case "pattern":
		lines = append(lines, "pattern: "+s.Pattern)
	default:
		lines = append(lines, "keyvalue: key=value, separated by blanks, commas or semicolons")
	}
	if s.Checksum != "" {
		lines = append(lines, "checksum "+s.Checksum)
	}
	for _, c := range s.Columns {
		lines = append(lines, columnWords(c))
	}
	for _, u := range []struct{ what, unit string }{
		{"rate and target", s.Units.Rate}, {"flow", s.Units.Flow}, {"total", s.Units.Total}, {"level", s.Units.Level}, {"speed", s.Units.Speed},
	} {
		if u.unit != "" {
			lines = append(lines, fmt.Sprintf("%s without a unit in %s", u.what, u.unit))
		}
	}
	for _, t := range tanks {
		if len(s.Columns) == 0 && s.Units.Rate == "" && t.Unit.Dim.PerArea() {
			lines = append(lines, fmt.Sprintf("rate of tank %d without a unit in %s, as its target", t.Number, t.Unit.Name))
		}
	}
	return lines
}

func columnWords(c controller.ColumnSpec) string {
	s := "column " + c.Column + ": " + c.Field
	switch {
	case c.TankFrom != "":
		s += " of the tank in column " + c.TankFrom
	case c.Tank != 0:
		s += fmt.Sprintf(" of tank %d", c.Tank)
	}
	if c.Scale != nil {
		s += ", times " + decimals(*c.Scale)
	}
	if c.Offset != 0 {
		s += ", plus " + decimals(c.Offset)
	}
	if c.Unit != "" {
		s += ", in " + c.Unit
	}
	if c.Field == "sections" {
		format, first := c.Format, c.First
		if format == "" {
			format = "bits"
		}
		if first == "" {
			first = "left"
		}
		s += fmt.Sprintf(" as %s, the first one %s", format, first)
	}
	return s
}

func implementWords(f config.File) []string {
	im := f.Implement
	if im == nil {
		return []string{"none stated: nothing is painted until an operator line states one"}
	}
	name, operation := im.Name, im.Operation
	if name == "" {
		name = "without a name"
	}
	if operation == "" {
		operation = "no operation stated"
	}
	width := f.Units.Show(units.Length, im.WidthM())
	sections := strconv.Itoa(len(im.SectionsM)) + " sections"
	if len(im.SectionsM) == 1 {
		sections = "1 section"
	}
	return []string{name + ", " + operation, fmt.Sprintf("%s, bar of %s in %s", statement.MountName(im.Mount), width, sections)}
}

func tankWords(t coverage.Tank, system units.System) string {
	words := []string{"product not stated"}
	if p := t.Product; p.Name != "" {
		words[0] = p.Name
		if kind := statement.ProductKindName(p.Kind); kind != "" {
			words[0] += " (" + kind + ")"
		}
		if p.ThousandKernelG > 0 {
			words = append(words, decimals(p.ThousandKernelG)+" g per 1000 kernels")
		}
	}
	if t.Target.Dim != controller.DimNone {
		_, rate, _ := units.AmountOf(t.Target.Dim.AmountUnit())
		words = append(words, "target "+system.Show(rate, t.Target.SI))
	}
	if t.Capacity.Dim != controller.DimNone {
		amount, _, _ := units.AmountOf(t.Capacity.Dim.AmountUnit())
		words = append(words, "holds "+system.Show(amount, t.Capacity.SI))
	}
	words = append(words, "on the ground "+decimals(t.LagS)+" s after the meter")
	return strings.Join(words, ", ")
}

func fieldWords(f config.Field) string {
	switch {
	case f.Name == "":
		return "none stated"
	case len(f.Boundary) == 0:
		return f.Name + ", without a boundary"
	}
	holes, positions := 0, 0
	for _, polygon := range f.Boundary {
		holes += len(polygon) - 1
		for _, ring := range polygon {
			positions += len(ring) - 1
		}
	}
	from := f.BoundaryFile
	if from == "" {
		from = "of the known fields"
	}
	return fmt.Sprintf("%s, boundary %s: %s, %s, %s", f.Name, from,
		count(len(f.Boundary), "part"), count(holes, "hole"), count(positions, "corner"))
}

// fieldsWords describes the known fields, nothing where the file names none.
func fieldsWords(f config.File) []string {
	if f.Fields.From == "" {
		return nil
	}
	return append([]string{knownWords(f.Fields.Known, f.Units) + " known, from " + f.Fields.From}, warningWords(f.Fields.Known)...)
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// skipWords tells how narrow uncovered ground is to be a skip, and how large.
func skipWords(f config.File) (width, area string) {
	width = "half the bar, or than 1.4 times the widest section (at least 1 m) if that is less"
	if f.Limits.SkipWidthM > 0 {
		width = f.Units.Show(units.Length, f.Limits.SkipWidthM)
	}
	area = "a twelfth of that width squared (at least 1 m2)"
	if f.Limits.SkipMinAreaM2 > 0 {
		area = decimals(f.Limits.SkipMinAreaM2) + " m2"
	}
	return width, area
}
