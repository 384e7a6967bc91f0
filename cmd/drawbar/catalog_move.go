package main

import (
	"errors"
	"fmt"
	"strings"

	"drawbar/internal/boundary"
	"drawbar/internal/catalog"
	"drawbar/internal/units"

	"github.com/spf13/cobra"
)

func newCatalogExportCommand() *cobra.Command {
	var p catalogPlace
	var format, out string
	cmd := &cobra.Command{
		Use:   "export",
		Short: "Write the whole catalogue as one YAML or JSON file",
		Long: `export writes everything in the catalogue, archived items too, as a file that a person
can read and drawbar catalog import takes back: to stdout, or to --out, where a file
of that name is replaced. The same catalogue gives the same bytes.

Every number has its unit in its name or beside it. Areas are not written: they
follow from the boundaries.`,
		Example: `  drawbar catalog export --out farm.yaml
  drawbar catalog export --format json --data /var/lib/drawbar`,
		Args: usageArgs(cobra.NoArgs, "name the file with --out"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			as, err := catalogFormat(format, out)
			if err != nil {
				return err
			}
			return p.with(cmd.Context(), catalog.OpenExisting, func(c *catalog.Catalog, _ units.System) error {
				d, err := c.Export(cmd.Context())
				if err != nil {
					return err
				}
				if out == "" {
					return catalog.Encode(cmd.OutOrStdout(), d, as)
				}
				if err := catalog.WriteFile(out, d, as); err != nil {
					return err
				}
				fmt.Fprintf(cmd.OutOrStdout(), "written to %s\n", out)
				return nil
			})
		},
	}
	p.flags(cmd)
	cmd.Flags().StringVar(&format, "format", "", "`FORMAT`: yaml or json (default that of --out's name, else yaml)")
	cmd.Flags().StringVar(&out, "out", "", "write to `FILE`")
	return cmd
}

func catalogFormat(format, out string) (catalog.Format, error) {
	switch {
	case format == "yaml", format == "" && !strings.HasSuffix(strings.ToLower(out), ".json"):
		return catalog.YAML, nil
	case format == "json", format == "":
		return catalog.JSON, nil
	default:
		return 0, usagef("--format %s: want yaml or json", format)
	}
}

func newCatalogImportCommand() *cobra.Command {
	var p catalogPlace
	var replace bool
	cmd := &cobra.Command{
		Use:   "import FILE",
		Short: "Take a YAML or JSON file into the catalogue, all of it or nothing",
		Long: `import reads a file as drawbar catalog export writes it, or as a person does, and adds
what is in it; - reads from stdin. Items of the file that the catalogue has already
must be the same there. Items may lack an id: they get one. Products are referred to
by name or id.

With --replace the catalogue becomes what the file says: items that are not in the
file are removed (export first to keep them).

Whatever is wrong is told on stderr, one line each with file, line and column, and
then nothing is changed. A file with every key there is:

` + catalogExample,
		Example: `  drawbar catalog import farm.yaml
  drawbar catalog import --replace --data /var/lib/drawbar farm.yaml`,
		Args: usageArgs(cobra.ExactArgs(1), "name one file of a catalogue"),
		RunE: func(cmd *cobra.Command, args []string) error {
			text, err := catalog.ReadFile(args[0], cmd.InOrStdin())
			if err != nil {
				return err
			}
			return p.with(cmd.Context(), catalog.Open, func(c *catalog.Catalog, _ units.System) error {
				n, err := c.Import(cmd.Context(), args[0], text, replace)
				if err != nil {
					return err
				}
				printChanges(cmd.OutOrStdout(), c.Path(), n)
				return nil
			})
		},
	}
	p.flags(cmd)
	cmd.Flags().BoolVar(&replace, "replace", false, "make the catalogue what the file says, and remove what is not in it")
	return cmd
}

func newCatalogAddFieldsCommand() *cobra.Command {
	var p catalogPlace
	var nameFrom string
	var update bool
	cmd := &cobra.Command{
		Use:   "add-fields FILE...",
		Short: "Add the fields of boundary files to the catalogue",
		Long: `add-fields reads fields as drawbar boundary does, from GeoJSON, GeoPackage, Shapefile,
KML, KMZ, a .zip or a folder of these, and adds them to the catalogue. Every field
must have a name of its own. A field that the catalogue has is a fault, or with
--update gets the new boundary.

With any fault, told on stderr one line each, nothing is added.`,
		Example: `  drawbar catalog add-fields fields.gpkg
  drawbar catalog add-fields --name-from FIELD_NO --data /var/lib/drawbar fields.shp
  drawbar catalog add-fields --update driven.geojson`,
		Args: usageArgs(cobra.MinimumNArgs(1), "name a boundary file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			found, err := readNamedFields(args, boundary.Options{NameFrom: nameFrom})
			if err != nil {
				return err
			}
			fields := make([]catalog.Field, len(found))
			for i, f := range found {
				fields[i] = catalog.Field{Name: f.Name, Outline: f.Outline}
			}
			return p.with(cmd.Context(), catalog.Open, func(c *catalog.Catalog, system units.System) error {
				n, err := c.PutFields(cmd.Context(), fields, update)
				var exists *catalog.ExistsError
				if errors.As(err, &exists) {
					return fmt.Errorf("%w\nnothing was added; --update gives these fields the new boundary", exists)
				}
				if err != nil {
					return err
				}
				if err := printFields(cmd.OutOrStdout(), found, system); err != nil {
					return err
				}
				printChanges(cmd.OutOrStdout(), c.Path(), n)
				return nil
			})
		},
	}
	p.flags(cmd)
	p.unitsFlag(cmd)
	cmd.Flags().StringVar(&nameFrom, "name-from", "", "`ATTRIBUTE` that holds the fields' names")
	cmd.Flags().BoolVar(&update, "update", false, "give fields that the catalogue has the new boundary")
	return cmd
}

// readNamedFields reads the fields of files, each with a name of its own over all
// of them.
func readNamedFields(names []string, o boundary.Options) (all []boundary.Field, err error) {
	var faults []error
	from := map[string]string{}
	for _, name := range names {
		found, err := boundary.ReadAll(name, boundary.OpenFile, o)
		if err != nil {
			faults = append(faults, err)
		}
		for _, f := range found {
			key := strings.ToLower(f.Name)
			if other, twice := from[key]; twice {
				faults = append(faults, fmt.Errorf("%s: got %s, which %s has too, want each field's name once", f.File, printable(f.Name), other))
			}
			from[key] = f.File
		}
		all = append(all, found...)
	}
	return all, errors.Join(faults...)
}
