package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"text/tabwriter"
	"time"

	"drawbar/controller"
	"drawbar/internal/catalog"
	"drawbar/internal/config"
	"drawbar/internal/records"
	"drawbar/internal/units"

	"github.com/spf13/cobra"
)

// totalsOptions are the flags of totals.
type totalsOptions struct {
	by, data, config, units                         string
	field, crop, product, person, operation, season string
	session, from, to                               string
	json                                            bool
}

func newTotalsCommand() *cobra.Command {
	var o totalsOptions
	cmd := &cobra.Command{
		Use:   "totals [flags]",
		Short: "Add up recorded work by field, crop, product, person or season",
		Long: `totals adds up all recorded sessions of a folder as they were recorded and corrected,
joined operations once: ground, products, nutrients, hours, field capacity and costs.
Nutrients and costs come from the products of the catalogue in that folder. What is
not known is counted below the table and never taken for zero.

Hours are the time in which ground was laid; field capacity is the ground covered over
the time from the first moment worked to the last. Nutrients per area are on the land:
of each field and season the area inside the boundary, else the ground covered.

What was worked out is kept in work.db in that folder, which may be deleted. A filter
"-" picks work of which the thing was not stated. It records what the machine reported
and is no advice: rates and limits are for the product label and local rules to say.`,
		Example: `  drawbar totals --by field --season 2026
  drawbar totals --by product --field "Mill Piece" --units us
  drawbar totals --by person --from 2026-05-01 --to 2026-05-31 --json`,
		Args: usageArgs(cobra.NoArgs, "say what to add up with flags"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return o.run(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.by, "by", "field", "`WHAT` to group by: field, crop, product, person, season, operation or session")
	f.StringVar(&o.data, "data", "", "folder `DIR` of the sessions (default ./data, or that of the configuration)")
	f.StringVar(&o.config, "config", "", "configuration `FILE`: units, time zone, folder of the sessions")
	f.StringVar(&o.units, "units", "", "show in `UNITS`: metric, us or canadian")
	f.StringVar(&o.field, "field", "", "only work in the field of this `NAME`")
	f.StringVar(&o.crop, "crop", "", "only work in this `CROP`")
	f.StringVar(&o.product, "product", "", "only what was laid of the product of this `NAME`, and its ground")
	f.StringVar(&o.person, "person", "", "only what the person of this `NAME` did")
	f.StringVar(&o.operation, "operation", "", "only work of this `KIND`, such as seeding")
	f.StringVar(&o.season, "season", "", "only work of this `YEAR`, or of the season with this id")
	f.StringVar(&o.session, "session", "", "only work of the session of this `NAME`")
	f.StringVar(&o.from, "from", "", "only work that began at this `TIME` or later, such as 2026-05-14 or 2026-05-14T13:05:00Z")
	f.StringVar(&o.to, "to", "", "only work that began before this `TIME`, or on this day at the latest")
	f.BoolVar(&o.json, "json", false, "print the totals as JSON, SI units, and nothing else")
	return cmd
}

func (o *totalsOptions) run(ctx context.Context, stdout, stderr io.Writer) (err error) {
	by, err := records.ParseBy(o.by)
	if err != nil {
		return usagef("--by %v", err)
	}
	file := config.Default()
	if o.config != "" {
		if file, err = config.Load(o.config); err != nil {
			return err
		}
	}
	if o.data != "" {
		file.Data = o.data
	}
	if o.units != "" {
		if file.Units, err = units.Parse(o.units); err != nil {
			return usagef("--units: %v", err)
		}
	}
	filter, err := o.filter(file.Timezone)
	if err != nil {
		return err
	}
	if _, err := os.Stat(file.Data); err != nil {
		return explainDir(file.Data, err)
	}
	x, done, err := openIndex(ctx, file, stderr)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, done()) }()
	for _, s := range x.Sessions() {
		if s.State == records.Failed {
			fmt.Fprintf(stderr, "drawbar: session %s is not counted: %s\n", printable(s.Name), printable(firstLine(s.Err)))
		}
	}
	t := x.Totals(by, filter)
	if o.json {
		return printJSON(stdout, by, t)
	}
	return printTotals(stdout, file.Units, by, t)
}

func firstLine(s string) string {
	line, _, _ := strings.Cut(s, "\n")
	return line
}

func (o *totalsOptions) filter(zone *time.Location) (f records.Filter, err error) {
	f = records.Filter{Season: o.season, Session: o.session}
	for _, m := range []struct {
		flag string
		to   **string
	}{{o.field, &f.Field}, {o.crop, &f.Crop}, {o.product, &f.Product}, {o.person, &f.Person}, {o.operation, &f.Operation}} {
		if m.flag != "" {
			*m.to = &m.flag
		}
	}
	for _, m := range []struct {
		name, text string
		days       int
		to         *time.Time
	}{{"--from", o.from, 0, &f.From}, {"--to", o.to, 1, &f.To}} {
		if m.text == "" {
			continue
		}
		if *m.to, err = time.Parse(time.RFC3339, m.text); err == nil {
			continue
		}
		day, err := time.ParseInLocation(time.DateOnly, m.text, zone)
		if err != nil {
			return f, usagef("%s %s: want a day such as 2026-05-14 or a time such as 2026-05-14T13:05:00Z", m.name, m.text)
		}
		*m.to = day.AddDate(0, 0, m.days)
	}
	return f, nil
}

// openIndex works out all sessions of a folder; done ends it.
func openIndex(ctx context.Context, file config.File, stderr io.Writer) (x *records.Index, done func() error, err error) {
	farm, err := catalog.OpenExisting(ctx, file.Data)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, nil, err
	}
	closeFarm := func() error {
		if farm == nil {
			return nil
		}
		return farm.Close()
	}
	if x, err = records.Open(ctx, records.Config{Dir: file.Data, Catalog: farm, Timezone: file.Timezone}); err != nil {
		return nil, nil, errors.Join(err, closeFarm())
	}
	working, stop := context.WithCancel(ctx)
	ended := make(chan error, 1)
	go func() { ended <- x.Run(working) }()
	done = func() error {
		stop()
		return errors.Join(<-ended, x.Close(), closeFarm())
	}
	if err := waitFor(ctx, x, ended, stderr); err != nil {
		return nil, nil, errors.Join(err, done())
	}
	return x, done, nil
}

// waitFor waits until everything is worked out and tells a terminal how far it is.
func waitFor(ctx context.Context, x *records.Index, ended chan error, stderr io.Writer) error {
	waited := make(chan error, 1)
	go func() { waited <- x.Wait(ctx) }()
	shows := isTerminal(stderr)
	tick := time.NewTicker(progressEvery)
	defer tick.Stop()
	shown := false
	defer func() {
		if shown {
			fmt.Fprint(stderr, "\r\x1b[K")
		}
	}()
	for {
		select {
		case err := <-waited:
			if err != nil {
				return errors.New("interrupted; what was worked out until then is kept")
			}
			return nil
		case err := <-ended:
			ended <- nil // for whoever waits for its end
			if err == nil {
				err = errors.New("interrupted; what was worked out until then is kept")
			}
			return err
		case <-tick.C:
			if shows {
				waiting, _ := x.Standing()
				fmt.Fprintf(stderr, "\rworking out recorded sessions: %d left ", waiting)
				shown = true
			}
		}
	}
}

// printJSON is the totals as they are.
func printJSON(w io.Writer, by records.By, t records.Totals) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(struct {
		Schema string     `json:"schema"`
		By     records.By `json:"by"`
		records.Totals
	}{"drawbar.totals.1", by, t}); err != nil {
		return fmt.Errorf("print the totals: %w", err)
	}
	return nil
}

// printTotals is the totals as a table, a line each group and product.
func printTotals(w io.Writer, system units.System, by records.By, t records.Totals) error {
	tab := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintf(tab, "%s\tOPERATIONS\tCOVERED\tOVERLAP\tHOURS\tCAPACITY\tEFFICIENCY\tPRODUCT\tAMOUNT\tMEAN RATE\tN\tP2O5\tK2O\tS\tCOST\n", strings.ToUpper(string(by)))
	for i := range t.Groups {
		printGroup(tab, system, &t.Groups[i], t.Groups[i].Key)
	}
	printGroup(tab, system, &t.All, "all")
	if err := tab.Flush(); err != nil {
		return fmt.Errorf("print the totals: %w", err)
	}
	for _, line := range doubts(system, &t) {
		if _, err := fmt.Fprintln(w, line); err != nil {
			return fmt.Errorf("print the totals: %w", err)
		}
	}
	return nil
}

func printGroup(w io.Writer, system units.System, g *records.Group, key string) {
	if key == "" {
		key = "(not stated)"
	}
	perHour, efficiency := unknownCell, unknownCell
	if g.CapacityM2PerS != nil {
		perHour = system.Show(units.Area, *g.CapacityM2PerS*3600) + "/h"
	}
	if g.Efficiency != nil {
		efficiency = fmt.Sprintf("%.0f %%", 100**g.Efficiency)
	}
	nutrient := func(kg float64) string {
		if kg == 0 || !(g.LandM2 > 0) {
			return unknownCell
		}
		return system.Show(units.MassRate, kg/g.LandM2)
	}
	var costs []string
	for _, c := range g.Costs {
		costs = append(costs, fmt.Sprintf("%.2f %s", c.Amount, c.Currency))
	}
	n := &g.Nutrients
	fmt.Fprintf(w, "%s\t%d\t%s\t%s\t%s\t%s\t%s\t", printable(key), g.Operations, system.Show(units.Area, g.CoveredM2), system.Show(units.Area, g.OverlapM2),
		hours(time.Duration(g.WorkingS*float64(time.Second))), perHour, efficiency)
	first := records.ProductTotal{}
	if len(g.Products) > 0 {
		first = g.Products[0]
	}
	amount, rate := amountText(system, &first)
	fmt.Fprintf(w, "%s\t%s\t%s\t", printable(orUnknown(first.Name)), amount, rate)
	fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", nutrient(n.NKg), nutrient(n.P2O5Kg), nutrient(n.K2OKg), nutrient(n.SKg), orUnknown(strings.Join(costs, ", ")))
	for i := 1; i < len(g.Products); i++ {
		amount, rate := amountText(system, &g.Products[i])
		fmt.Fprintf(w, "\t\t\t\t\t\t\t%s\t%s\t%s\t\t\t\t\t\n", printable(orUnknown(g.Products[i].Name)), amount, rate)
	}
}

// amountText is an amount and its rate with their units.
func amountText(system units.System, p *records.ProductTotal) (amount, rate string) {
	amount, rate = unknownCell, unknownCell
	of, per, ok := units.AmountOf(p.Unit)
	if !ok {
		return amount, rate
	}
	if p.Applied != nil {
		amount = system.Show(of, *p.Applied)
	}
	if p.MeanRate != nil {
		rate = system.Show(per, *p.MeanRate)
	}
	return amount, rate
}

// doubts says what is not in the totals.
func doubts(system units.System, t *records.Totals) (out []string) {
	u := &t.All.Unknown
	say := func(n int, one, many string) {
		switch {
		case n == 1:
			out = append(out, "1 "+one)
		case n > 1:
			out = append(out, fmt.Sprintf("%d %s", n, many))
		}
	}
	say(u.Amounts, "use of a product has no known amount", "uses of products have no known amount")
	if u.RateM2 >= controller.HectareM2/1000 {
		out = append(out, "the rate of a product was not known on "+system.Show(units.Area, u.RateM2))
	}
	say(u.Nutrients, "amount has unknown nutrients: enter the product, its analysis and density in the catalogue", "amounts have unknown nutrients: enter the products, their analysis and density in the catalogue")
	say(u.Costs, "amount has no price", "amounts have no price")
	say(u.Capacities, "operation has no implement or no time: it is not in the field capacity", "operations have no implement or no time: they are not in the field capacity")
	say(u.Fields, "operation is in no named field", "operations are in no named field")
	say(u.People, "operation was done, in whole or in part, by nobody named", "operations were done, in whole or in part, by nobody named")
	say(t.All.Split, "operation was done by several people: their covered ground is split as the area driven is", "operations were done by several people: their covered ground is split as the area driven is")
	say(t.Failed, "session or join cannot be worked out and is not in it", "sessions or joins cannot be worked out and are not in it")
	return out
}
