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
		lineYAML(&b, spec)
	}
	return b.String()
}

// lineYAML writes a line profile as it stands in a configuration.
func lineYAML(b *strings.Builder, s controller.ProfileSpec) {
	fmt.Fprintf(b, "  line:\n    kind: %s\n", s.Kind)
	if s.Separator != "" {
		fmt.Fprintf(b, "    separator: %s\n", quoted(s.Separator))
	}
	if s.Header {
		b.WriteString("    header: true\n")
	}
	if s.Checksum != "" {
		fmt.Fprintf(b, "    checksum: %s\n", s.Checksum)
	}
	if s.Pattern != "" {
		fmt.Fprintf(b, "    pattern: '%s'\n", strings.ReplaceAll(s.Pattern, "'", "''"))
	}
	if len(s.Columns) > 0 {
		b.WriteString("    columns:  # guessed: check each against the controller's display\n")
	}
	for _, c := range s.Columns {
		name := c.Column
		if _, err := strconv.Atoi(name); err != nil {
			name = quoted(name)
		}
		fmt.Fprintf(b, "      - {column: %s, field: %s", name, c.Field)
		if c.Tank != 0 {
			fmt.Fprintf(b, ", tank: %d", c.Tank)
		}
		if c.TankFrom != "" {
			fmt.Fprintf(b, ", tank_from: %s", c.TankFrom)
		}
		if c.Unit != "" {
			fmt.Fprintf(b, ", unit: %s", c.Unit)
		}
		if c.Format != "" {
			fmt.Fprintf(b, ", format: %s, first: left", c.Format)
		}
		b.WriteString("}")
		if c.Unit == "" && c.Field != "work" && c.Field != "sections" {
			b.WriteString("  # and its unit, such as unit: " + exampleUnit(c.Field))
		}
		b.WriteString("\n")
	}
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
