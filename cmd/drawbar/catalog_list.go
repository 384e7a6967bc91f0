package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"drawbar/coverage"
	"drawbar/internal/agronomy"
	"drawbar/internal/catalog"
	"drawbar/internal/units"

	"github.com/spf13/cobra"
)

func newCatalogListCommand() *cobra.Command {
	var p catalogPlace
	var archived bool
	cmd := &cobra.Command{
		Use:   "list [fields|implements|tractors|products|people|plans]",
		Short: "List what is in the catalogue",
		Long: `list prints the items of one kind, or of all, a line each. Fields have their area on
the ellipsoid and their latest season; products their analysis, that of a blend as
it follows from its parts; plans the nutrients in their rate, where both analysis
and, for litres, density are known.`,
		Example: `  drawbar catalog list
  drawbar catalog list plans --units us
  drawbar catalog list fields --archived --data /var/lib/drawbar`,
		Args: usageArgs(cobra.MaximumNArgs(1), "name one kind of item: "+listNames()),
		RunE: func(cmd *cobra.Command, args []string) error {
			chosen := catalogLists()
			if len(args) > 0 {
				if chosen = listNamed(args[0]); chosen == nil {
					return usagef("list %s: want one of %s", args[0], listNames())
				}
			}
			return p.with(cmd.Context(), catalog.OpenExisting, func(c *catalog.Catalog, system units.System) error {
				l := lister{w: cmd.OutOrStdout(), units: system, archived: archived}
				return l.print(cmd.Context(), c, chosen)
			})
		},
	}
	p.flags(cmd)
	p.unitsFlag(cmd)
	cmd.Flags().BoolVar(&archived, "archived", false, "list archived items too")
	return cmd
}

// catalogList is one kind of item that can be listed.
type catalogList struct {
	name  string
	print func(*lister)
}

func catalogLists() []catalogList {
	return []catalogList{
		{"fields", (*lister).fields},
		{"implements", (*lister).implements},
		{"tractors", (*lister).tractors},
		{"products", (*lister).products},
		{"people", (*lister).people},
		{"plans", (*lister).plans},
	}
}

func listNames() string {
	var names []string
	for _, l := range catalogLists() {
		names = append(names, l.name)
	}
	return strings.Join(names, ", ")
}

func listNamed(name string) []catalogList {
	for _, l := range catalogLists() {
		if l.name == name {
			return []catalogList{l}
		}
	}
	return nil
}

// lister prints tables of a catalogue.
type lister struct {
	w        io.Writer
	units    units.System
	archived bool

	doc  catalog.Document
	book catalog.Book
	t    *tabwriter.Writer
	rows int
}

func (l *lister) print(ctx context.Context, c *catalog.Catalog, chosen []catalogList) (err error) {
	if l.doc, err = c.Export(ctx); err != nil {
		return err
	}
	l.book = catalog.NewBook(l.doc.Products)
	for i, list := range chosen {
		if i > 0 {
			fmt.Fprintln(l.w)
		}
		l.t, l.rows = tabwriter.NewWriter(l.w, 0, 0, 2, ' ', 0), 0
		list.print(l)
		if l.rows == 0 {
			fmt.Fprintf(l.w, "no %s\n", list.name)
			continue
		}
		if err := l.t.Flush(); err != nil {
			return fmt.Errorf("print the catalogue: %w", err)
		}
	}
	return nil
}

func (l *lister) head(cells ...string) { fmt.Fprintln(l.t, strings.Join(cells, "\t")) }

func (l *lister) row(cells ...string) {
	for i := range cells {
		if cells[i] = printable(cells[i]); cells[i] == "" {
			cells[i] = unknownCell
		}
	}
	l.rows++
	fmt.Fprintln(l.t, strings.Join(cells, "\t"))
}

// shown tells whether an item is listed, and under which name.
func (l *lister) shown(m catalog.Meta, name string) (string, bool) {
	if m.Archived {
		return name + " (archived)", l.archived
	}
	return name, true
}

func (l *lister) fields() {
	latest := map[catalog.ID]string{} // seasons come in the order of their begin
	for _, s := range l.doc.Seasons {
		if !s.Archived {
			latest[s.Field] = s.Crop + ", " + s.When()
		}
	}
	l.head("FIELD", "AREA", "PARTS", "HOLES", "SEASON")
	for _, f := range l.doc.Fields {
		name, ok := l.shown(f.Meta, f.Name)
		if !ok {
			continue
		}
		area, holes := "", 0
		if f.Outline != nil {
			area = l.units.Show(units.Area, f.AreaM2)
		}
		for _, p := range f.Outline {
			holes += len(p) - 1
		}
		l.row(name, area, fmt.Sprint(len(f.Outline)), fmt.Sprint(holes), latest[f.ID])
	}
}

func (l *lister) implements() {
	l.head("IMPLEMENT", "OPERATION", "WIDTH", "SECTIONS", "MOUNT")
	for _, im := range l.doc.Implements {
		if name, ok := l.shown(im.Meta, im.Name); ok {
			mount := "rigid"
			if im.Mount == coverage.MountTowed {
				mount = "towed, axle " + l.units.Show(units.Length, im.HitchToAxleM) + " behind the hitch"
			}
			l.row(name, im.Operation, l.units.Show(units.Length, im.WidthM()), fmt.Sprint(len(im.SectionsM)), mount)
		}
	}
}

func (l *lister) tractors() {
	l.head("TRACTOR", "ANTENNA TO HITCH", "TO LINKAGE", "ANTENNA RIGHT")
	for _, t := range l.doc.Tractors {
		if name, ok := l.shown(t.Meta, t.Name); ok {
			linkage := ""
			if t.HasLinkage {
				linkage = l.units.Show(units.Length, t.AntennaToLinkageM)
			}
			l.row(name, l.units.Show(units.Length, t.AntennaToHitchM), linkage, l.units.Show(units.Length, t.AntennaRightM))
		}
	}
}

func (l *lister) products() {
	l.head("PRODUCT", "KIND", "WHAT IT IS")
	for _, p := range l.doc.Products {
		if name, ok := l.shown(p.Meta, p.Name); ok {
			l.row(name, p.Kind.String(), strings.Join(l.productWords(p), ", "))
		}
	}
}

func (l *lister) nameOf(id catalog.ID) string {
	for _, p := range l.doc.Products {
		if p.ID == id {
			return p.Name
		}
	}
	return string(id)
}

// productWords are what is known of a product.
func (l *lister) productWords(p catalog.Product) (words []string) {
	add := func(is bool, format string, args ...any) {
		if is {
			words = append(words, fmt.Sprintf(format, args...))
		}
	}
	c := l.book.Of(p.ID)
	add(p.Kind == catalog.Blend && !c.HasAnalysis, "analysis not known")
	add(c.HasAnalysis && c.Analysis != agronomy.Analysis{}, "%s %% N-P2O5-K2O-S", analysisWords(c.Analysis))
	add(c.DensityKgPerL > 0, "%.3g kg/l", c.DensityKgPerL)
	add(p.ThousandKernelG > 0, "%s g per 1,000 kernels", decimals(p.ThousandKernelG))
	add(p.GerminationPct > 0, "%s %% germinate", decimals(p.GerminationPct))
	add(p.Lot != "", "lot %s", p.Lot)
	add(p.RidesOn != "", "on %s", l.nameOf(p.RidesOn))
	add(p.Dose != catalog.Dose{}, "%s %s", decimals(p.Dose.Amount), p.Dose.Unit)
	for _, s := range p.Substances {
		add(true, "%s %s %s", s.Name, decimals(s.Content), s.Per)
	}
	add(p.Registration != "", "registration %s", p.Registration)
	add(p.MaxRate.Stated(), "at most %s", p.MaxRate)
	add(p.Has&catalog.HasMaxApplications != 0, "%s a season", count(p.MaxApplications, "application"))
	add(p.Has&catalog.HasReentry != 0, "re-entry after %s h", decimals(p.ReentryH))
	add(p.Has&catalog.HasPreHarvest != 0, "%s before harvest", count(p.PreHarvestDays, "day"))
	return words
}

func analysisWords(a agronomy.Analysis) string {
	return fmt.Sprintf("%.4g-%.4g-%.4g-%.4g", a.NPct, a.P2O5Pct, a.K2OPct, a.SPct)
}

func (l *lister) people() {
	l.head("PERSON", "LICENCE")
	for _, w := range l.doc.People {
		if name, ok := l.shown(w.Meta, w.Name); ok {
			l.row(name, w.Licence)
		}
	}
}

func (l *lister) plans() {
	l.head("FIELD", "SEASON", "ORDER", "OPERATION", "PRODUCT", "RATE", "TANK", "NUTRIENTS")
	plans := map[catalog.ID][]catalog.Plan{}
	for _, p := range l.doc.Plans {
		plans[p.Season] = append(plans[p.Season], p)
	}
	seasons := map[catalog.ID][]catalog.Season{}
	for _, s := range l.doc.Seasons {
		seasons[s.Field] = append(seasons[s.Field], s)
	}
	for _, f := range l.doc.Fields {
		for _, s := range seasons[f.ID] {
			for _, p := range plans[s.ID] {
				name, ok := l.shown(catalog.Meta{Archived: f.Archived || s.Archived || p.Archived}, f.Name)
				if !ok {
					continue
				}
				tank := ""
				if p.Tank > 0 {
					tank = fmt.Sprint(p.Tank)
				}
				l.row(name, s.Crop+", "+s.When(), fmt.Sprint(p.Order), p.Operation, l.nameOf(p.Product), p.Rate.String(), tank, l.nutrients(p))
			}
		}
	}
}

// nutrients are those in a plan's rate, "" where none are known.
func (l *lister) nutrients(p catalog.Plan) string {
	n, ok := l.book.Nutrients(p.Product, p.Rate)
	if !ok {
		return ""
	}
	var words []string
	for _, part := range []struct {
		name string
		si   float64
	}{{"N", n.NKgPerM2}, {"P2O5", n.P2O5KgPerM2}, {"K2O", n.K2OKgPerM2}, {"S", n.SKgPerM2}} {
		if part.si > 0 {
			words = append(words, part.name+" "+l.units.Show(units.MassRate, part.si))
		}
	}
	return strings.Join(words, ", ")
}
