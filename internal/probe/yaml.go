package probe

import (
	"fmt"
	"strconv"
	"strings"

	"drawbar/controller"
)

// snippet is the part of a configuration to paste.
func snippet(f *Finding, c *Controller, o Options) string {
	var b strings.Builder
	port := func(section string) {
		source := f.Source
		if o.Recording {
			source = "/dev/ttyUSB0  # the port that was recorded"
		}
		fmt.Fprintf(&b, "%s:\n  source: %s\n", section, source)
		if f.Baud != nil {
			fmt.Fprintf(&b, "  baud: %d\n", *f.Baud)
		}
	}
	switch {
	case f.Carries == CarriesReceiver:
		port("gnss")
	case f.Carries == CarriesController && c.From == fromConfig:
		port("controller") // its line profile is in the configuration already
	case f.Carries == CarriesController:
		port("controller")
		spec := controller.ProfileSpec{Kind: "keyvalue"}
		if c.proposal != nil {
			spec = *c.proposal
		}
		lineYAML(&b, spec, "  # guessed: check each against the controller's display")
	}
	return b.String()
}

// LineYAML is a line profile as it is pasted into a configuration.
func LineYAML(s controller.ProfileSpec) string {
	var b strings.Builder
	b.WriteString("controller:\n")
	lineYAML(&b, s, "")
	return b.String()
}

// lineYAML writes a line profile as it stands in a configuration; note stands
// beside its columns.
func lineYAML(b *strings.Builder, s controller.ProfileSpec, note string) {
	kind := s.Kind
	if kind == "" {
		kind = "keyvalue"
	}
	fmt.Fprintf(b, "  line:\n    kind: %s\n", kind)
	if s.Separator != "" {
		fmt.Fprintf(b, "    separator: %s\n", quoted(s.Separator))
	}
	if s.Header {
		b.WriteString("    header: true\n")
	}
	if s.Checksum != "" {
		fmt.Fprintf(b, "    checksum: %s\n", plain(s.Checksum))
	}
	if s.Pattern != "" {
		fmt.Fprintf(b, "    pattern: '%s'\n", strings.ReplaceAll(s.Pattern, "'", "''"))
	}
	if len(s.Columns) > 0 {
		b.WriteString("    columns:" + note + "\n")
	}
	for _, c := range s.Columns {
		columnYAML(b, c, note != "")
	}
	unitsYAML(b, s.Units)
}

func columnYAML(b *strings.Builder, c controller.ColumnSpec, guessed bool) {
	fmt.Fprintf(b, "      - {column: %s, field: %s", column(c.Column), plain(c.Field))
	if c.Tank != 0 {
		fmt.Fprintf(b, ", tank: %d", c.Tank)
	}
	if c.TankFrom != "" {
		fmt.Fprintf(b, ", tank_from: %s", column(c.TankFrom))
	}
	if c.Unit != "" {
		fmt.Fprintf(b, ", unit: %s", plain(c.Unit))
	}
	if c.Scale != nil {
		fmt.Fprintf(b, ", scale: %s", trim(*c.Scale))
	}
	if c.Offset != 0 {
		fmt.Fprintf(b, ", offset: %s", trim(c.Offset))
	}
	if c.Format != "" {
		fmt.Fprintf(b, ", format: %s", plain(c.Format))
	}
	if c.First != "" {
		fmt.Fprintf(b, ", first: %s", plain(c.First))
	} else if guessed && c.Format != "" {
		b.WriteString(", first: left")
	}
	b.WriteString("}")
	if guessed && c.Unit == "" && c.Field != "work" && c.Field != "sections" {
		b.WriteString("  # and its unit, such as unit: " + exampleUnit(c.Field))
	}
	b.WriteString("\n")
}

func unitsYAML(b *strings.Builder, u controller.UnitSpec) {
	head := "    units:\n"
	for _, v := range [][2]string{{"rate", u.Rate}, {"flow", u.Flow}, {"total", u.Total}, {"level", u.Level}, {"speed", u.Speed}} {
		if v[1] != "" {
			fmt.Fprintf(b, "%s      %s: %s\n", head, v[0], plain(v[1]))
			head = ""
		}
	}
}

// column is a column's number as it is, its name in quotes.
func column(name string) string {
	if _, err := strconv.ParseUint(name, 10, 32); err == nil {
		return name
	}
	return quoted(name)
}

// plain is a word as it is, other text in quotes.
func plain(s string) string {
	for i, c := range s {
		letter := c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z'
		if !letter && (i == 0 || (c < '0' || c > '9') && c != '/' && c != '_' && c != '-') {
			return strconv.QuoteToASCII(s)
		}
	}
	switch strings.ToLower(s) {
	case "", "y", "n", "yes", "no", "on", "off", "true", "false", "null":
		return strconv.QuoteToASCII(s)
	}
	return s
}

func quoted(s string) string {
	if s == "space" {
		return s
	}
	return strconv.QuoteToASCII(s)
}

func exampleUnit(field string) string {
	switch field {
	case "speed":
		return "km/h"
	case "flow":
		return "l/min"
	case "total", "level":
		return "kg"
	default:
		return "kg/ha"
	}
}
