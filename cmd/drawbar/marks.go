package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"drawbar/internal/catalog"
	"drawbar/internal/config"
	"drawbar/internal/handover"
	"drawbar/internal/marks"
	"drawbar/internal/units"
	"drawbar/internal/whole"

	"github.com/spf13/cobra"
)

func newMarksCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "marks",
		Short: "List what was marked in all sessions; hand it over as GPX, KML or GeoJSON",
		Long: `marks shows what the operator marked, in whichever session: stones, wet spots,
drains. A mark is open until somebody says that it is done, on the page of the
recorder or on /marks, its page for a second person's phone.

Marks are in the catalogue of the data folder, that of --data, else of the
configuration --config, else ./data.`,
		Example: `  drawbar marks list
  drawbar marks list --field "Mill Piece" --state all
  drawbar marks export stones.gpx --field "Mill Piece"`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return nil
		},
		RunE: func(*cobra.Command, []string) error { return usagef("say what to do with the marks: list or export") },
	}
	cmd.SuggestionsMinimumDistance = 2
	cmd.AddCommand(newMarksListCommand(), newMarksExportCommand())
	return cmd
}

// marksChoice says which marks of which catalogue are meant.
type marksChoice struct {
	place        catalogPlace
	field, state string
}

func (m *marksChoice) flags(cmd *cobra.Command) {
	m.place.flags(cmd)
	cmd.Flags().StringVar(&m.field, "field", "", "marks of the field of this `NAME` alone")
	cmd.Flags().StringVar(&m.state, "state", "open", "`STATE` of the marks: open, done or all")
}

// with finds the marks and hands them on.
func (m *marksChoice) with(ctx context.Context, do func([]marks.Listed) error) error {
	state, ok := marks.ParseState(m.state)
	if !ok {
		return usagef("--state %s: want open, done or all", m.state)
	}
	return m.place.with(ctx, catalog.OpenExisting, func(c *catalog.Catalog, _ units.System) error {
		if m.field != "" {
			if err := knownField(ctx, c, m.field); err != nil {
				return err
			}
		}
		found, err := marks.List(ctx, c, marks.Filter{State: state, Field: m.field})
		if err != nil {
			return err
		}
		return do(found)
	})
}

// knownField tells of a field that neither the catalogue nor any mark names.
func knownField(ctx context.Context, c *catalog.Catalog, name string) error {
	_, err := c.Fields.Named(ctx, name)
	if !errors.Is(err, catalog.ErrNotFound) {
		return err
	}
	of, err := marks.List(ctx, c, marks.Filter{State: marks.All, Field: name})
	if err == nil && len(of) == 0 {
		err = fmt.Errorf("no field %s is in the catalogue and no mark names it; drawbar catalog list fields shows those that are", printable(name))
	}
	return err
}

func newMarksListCommand() *cobra.Command {
	var m marksChoice
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List marks, a line each, in the order in which they were left",
		Example: `  drawbar marks list
  drawbar marks list --field "Mill Piece" --state done --data /var/lib/drawbar`,
		Args: usageArgs(cobra.NoArgs, "choose marks with --field and --state"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			zone, err := m.place.zone()
			if err != nil {
				return err
			}
			return m.with(cmd.Context(), func(found []marks.Listed) error {
				return printMarks(cmd.OutOrStdout(), found, zone)
			})
		},
	}
	m.flags(cmd)
	return cmd
}

// zone is the time zone of what is shown.
func (p *catalogPlace) zone() (*time.Location, error) {
	if p.config == "" {
		return time.UTC, nil
	}
	file, err := config.Load(p.config)
	if err != nil {
		return nil, err
	}
	return file.Timezone, nil
}

func printMarks(w io.Writer, found []marks.Listed, zone *time.Location) error {
	if len(found) == 0 {
		fmt.Fprintln(w, "no marks")
		return nil
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "MARK\tFIELD\tSTATE\tLEFT\tLATITUDE\tLONGITUDE\tNOTE")
	for _, l := range found {
		state := "open"
		if l.Done {
			state = "done " + l.Settled.In(zone).Format(time.DateOnly)
			if l.SettledBy != "" {
				state += " by " + l.SettledBy
			}
		}
		lat, lon := unknownCell, unknownCell
		if l.HasPlace {
			lat, lon = fmt.Sprintf("%.7f", l.LatDeg), fmt.Sprintf("%.7f", l.LonDeg)
		}
		cells := []string{l.Kind, l.FieldCalled, state, l.Left.In(zone).Format("2006-01-02 15:04"), lat, lon, strings.Join(strings.Fields(l.Note), " ")}
		for i := range cells {
			if cells[i] = printable(cells[i]); cells[i] == "" {
				cells[i] = unknownCell
			}
		}
		fmt.Fprintln(t, strings.Join(cells, "\t"))
	}
	if err := t.Flush(); err != nil {
		return fmt.Errorf("print the marks: %w", err)
	}
	return nil
}

func newMarksExportCommand() *cobra.Command {
	var m marksChoice
	cmd := &cobra.Command{
		Use:   "export FILE",
		Short: "Write marks as a GPX, KML or GeoJSON file",
		Long: `export writes marks for another receiver or map, by the end of FILE's name: .gpx (GPX
1.1), .kml (KML 2.2) or .geojson. A file of that name is replaced. Positions are WGS
84. A mark that was left before there was a position is left out, and that is told.`,
		Example: `  drawbar marks export stones.gpx
  drawbar marks export done.kml --state done --field "Mill Piece"`,
		Args: usageArgs(cobra.ExactArgs(1), "name one file that ends in .gpx, .kml or .geojson"),
		RunE: func(cmd *cobra.Command, args []string) error {
			format, ok := handover.FormatOf(args[0])
			if !ok {
				return usagef("%s: want a name that ends in .gpx, .kml or .geojson", args[0])
			}
			return m.with(cmd.Context(), func(found []marks.Listed) error {
				places := marks.Places(found)
				title := "Marks"
				if m.field != "" && len(found) > 0 {
					title += " of " + found[0].FieldCalled
				}
				f, err := whole.Create(args[0], 0o644)
				if err != nil {
					return err
				}
				defer f.Discard()
				if err := handover.Write(f, format, title, places); err != nil {
					return err
				}
				if err := f.Commit(); err != nil {
					return err
				}
				fmt.Fprintf(cmd.OutOrStdout(), "%s: %s\n", args[0], count(len(places), "mark"))
				if n := len(found) - len(places); n > 0 {
					fmt.Fprintf(cmd.ErrOrStderr(), "drawbar: %s without a place left out\n", count(n, "mark"))
				}
				return nil
			})
		},
	}
	m.flags(cmd)
	return cmd
}
