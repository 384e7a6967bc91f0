package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"

	"drawbar/internal/boundary"
	"drawbar/internal/export"
	"drawbar/internal/units"

	"github.com/spf13/cobra"
)

func newBoundaryCommand() *cobra.Command {
	var o boundaryOptions
	cmd := &cobra.Command{
		Use:   "boundary FILE...",
		Short: "List the fields of boundary files, and convert them to GeoJSON",
		Long: `boundary reads the outlines of fields from GeoJSON (RFC 7946), GeoPackage, Shapefile
(the .shp with its .dbf and .prj beside it), KML 2.2, KMZ, or a .zip of these, and
lists each field with its area on the ellipsoid, its parts and its holes. A folder
stands for the boundary files in it.

Places in WGS 84, ETRS89 or NAD83, as degrees or UTM, and in Web Mercator are read;
any other reference system is refused: export in WGS 84 (EPSG:4326).

A field's name is that of its Placemark, else the first attribute there is of name,
field_name, fieldname, field, label and title; --name-from takes another.

What is wrong is told on stderr, one line each with file, place and field; with any
fault the exit code is 1 and --out writes nothing.`,
		Example: `  drawbar boundary fields.gpkg
  drawbar boundary --units us --name-from FIELD_NO fields.shp
  drawbar boundary --out fields.geojson north.kml south.kmz`,
		Args: usageArgs(cobra.MinimumNArgs(1), "name a boundary file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return o.run(cmd.OutOrStdout(), args)
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.units, "units", "metric", "`UNITS` of areas: metric, us or canadian")
	f.StringVar(&o.nameFrom, "name-from", "", "`ATTRIBUTE` that holds the fields' names")
	f.StringVar(&o.out, "out", "", "write all fields as one GeoJSON `FILE`")
	cmd.AddCommand(boundaryCommands()...)
	return cmd
}

// boundaryCommands are the commands below it, one file each.
func boundaryCommands() []*cobra.Command {
	return []*cobra.Command{newBoundaryWorkCommand(), newBoundaryDrivenCommand()}
}

type boundaryOptions struct {
	units, nameFrom, out string
}

func (o *boundaryOptions) run(stdout io.Writer, names []string) error {
	system, err := units.Parse(o.units)
	if err != nil {
		return usagef("--units %s: want metric, us or canadian", o.units)
	}
	var fields []boundary.Field
	var faults []error
	for _, name := range names {
		found, err := boundary.ReadEach(name, boundary.OpenFile, boundary.Options{NameFrom: o.nameFrom})
		fields = append(fields, found...)
		if err != nil {
			faults = append(faults, err)
		}
	}
	if err := printFields(stdout, fields, system); err != nil {
		return err
	}
	if len(faults) > 0 {
		return errors.Join(faults...)
	}
	if o.out == "" {
		return nil
	}
	if err := export.Boundaries(o.out, fields); err != nil {
		return err
	}
	fmt.Fprintf(stdout, "written to %s\n", o.out)
	return nil
}

// printFields lists fields and what is to be known of them.
func printFields(w io.Writer, fields []boundary.Field, system units.System) error {
	if len(fields) == 0 {
		return nil
	}
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	fmt.Fprintln(t, "field\tarea\tparts\tholes\tcorners\tfrom")
	for _, f := range fields {
		name := f.Name
		if name == "" {
			name = "(no name)"
		}
		fmt.Fprintf(t, "%s\t%s\t%d\t%d\t%d\t%s\n", name, system.Show(units.Area, f.AreaM2), len(f.Outline), f.Holes(), f.Corners(), f.File)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(w, knownWords(fields, system))
	for _, warning := range warningWords(fields) {
		fmt.Fprintln(w, warning)
	}
	return nil
}

// knownWords is how many fields there are and their area together.
func knownWords(fields []boundary.Field, system units.System) string {
	total := 0.0
	for _, f := range fields {
		total += f.AreaM2
	}
	return fmt.Sprintf("%s, %s", count(len(fields), "field"), system.Show(units.Area, total))
}

// warningWords are the warnings of fields, each once with those it holds for.
func warningWords(fields []boundary.Field) (lines []string) {
	var words []string
	of := map[string][]string{}
	for _, f := range fields {
		for _, warning := range f.Warnings {
			if of[warning] == nil {
				words = append(words, warning)
			}
			if name := f.Name; name != "" && !slices.Contains(of[warning], name) {
				of[warning] = append(of[warning], name)
			} else if of[warning] == nil {
				of[warning] = []string{}
			}
		}
	}
	for _, warning := range words {
		names := of[warning]
		const most = 5
		switch {
		case len(names) == 0:
			lines = append(lines, "warning: "+warning)
		case len(names) > most:
			lines = append(lines, fmt.Sprintf("warning: %s (%s and %d more)", warning, strings.Join(names[:most], ", "), len(names)-most))
		default:
			lines = append(lines, fmt.Sprintf("warning: %s (%s)", warning, strings.Join(names, ", ")))
		}
	}
	return lines
}
