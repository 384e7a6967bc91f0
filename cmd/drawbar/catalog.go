package main

import (
	"context"
	"fmt"
	"io"

	"drawbar/internal/catalog"
	"drawbar/internal/config"
	"drawbar/internal/units"

	"github.com/spf13/cobra"
)

func newCatalogCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "catalog",
		Short: "Keep fields, implements, products, people and plans; take them in and out",
		Long: `catalog keeps what a farm has and means to do in one file, catalog.db, in the data
folder: fields with their boundaries and seasons, implements and tractors, products
and blends, people, and what is planned for each field.

The data folder is that of --data, else of the configuration --config, else ./data.

drawbar holds no label database: the limits of a crop protection product are what
you copied from its label, and the label alone counts. Nothing here advises a rate.`,
		Example: `  drawbar catalog add-fields fields.gpkg
  drawbar catalog list
  drawbar catalog export --out farm.yaml
  drawbar catalog import farm.yaml`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return nil
		},
		RunE: func(*cobra.Command, []string) error {
			return usagef("say what to do with the catalogue: add-fields, list, export or import")
		},
	}
	cmd.SuggestionsMinimumDistance = 2
	cmd.AddCommand(newCatalogListCommand(), newCatalogAddFieldsCommand(), newCatalogExportCommand(), newCatalogImportCommand())
	return cmd
}

// catalogPlace says which catalogue is meant.
type catalogPlace struct {
	data, config, units string
}

func (p *catalogPlace) flags(cmd *cobra.Command) {
	cmd.Flags().StringVar(&p.data, "data", "", "data `DIR` of the catalogue (default that of --config, else ./data)")
	cmd.Flags().StringVar(&p.config, "config", "", "configuration `FILE` that names the data folder and the units")
}

func (p *catalogPlace) unitsFlag(cmd *cobra.Command) {
	cmd.Flags().StringVar(&p.units, "units", "", "`UNITS` of numbers: metric, us or canadian (default those of --config, else metric)")
}

// find gives the folder and the units.
func (p *catalogPlace) find() (dir string, system units.System, err error) {
	dir = defaultData
	if p.config != "" {
		file, err := config.Load(p.config)
		if err != nil {
			return "", 0, err
		}
		dir, system = file.Data, file.Units
	}
	if p.data != "" {
		dir = p.data
	}
	if p.units != "" {
		if system, err = units.Parse(p.units); err != nil {
			return "", 0, usagef("--units %s: want metric, us or canadian", p.units)
		}
	}
	return dir, system, nil
}

// catalogOpener opens the catalogue of a folder.
type catalogOpener func(ctx context.Context, dir string) (*catalog.Catalog, error)

// with opens the catalogue, does something with it, and closes it.
func (p *catalogPlace) with(ctx context.Context, open catalogOpener, do func(c *catalog.Catalog, system units.System) error) (err error) {
	dir, system, err := p.find()
	if err != nil {
		return err
	}
	c, err := open(ctx, dir)
	if err != nil {
		return err
	}
	defer func() {
		if closeErr := c.Close(); err == nil {
			err = closeErr
		}
	}()
	return do(c, system)
}

// printChanges says what became of a catalogue.
func printChanges(w io.Writer, path string, n catalog.Changes) {
	fmt.Fprintf(w, "%s: %d added, %d changed, %d removed, %d as before\n", path, n.Added, n.Changed, n.Removed, n.Same)
}
