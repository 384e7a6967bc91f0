package catalog

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"strings"

	"drawbar/replay/statement"
)

// substanceJSON is an active substance in its column.
type substanceJSON struct {
	Name    string `json:"name"`
	Content string `json:"content"`
}

func productTable() *table[Product] {
	return &table[Product]{
		kind: KindProduct, name: "product", order: "name_key", named: true,
		file: file[Product]{
			in:     func(d *Document) *[]Product { return &d.Products },
			read:   func(r *reader, n *statement.Node) { r.product(n, "") },
			encode: (*encoder).product,
		},
		columns: []string{
			"name", "note", "kind", "density_kg_per_l", "thousand_kernel_g", "germination_pct", "lot", "rides_on", "dose",
			"n_pct", "p2o5_pct", "k2o_pct", "s_pct", "registration", "substances", "max_rate", "max_applications", "reentry_h",
			"pre_harvest_days", "blend_by", "price",
		},
		meta:         func(p *Product) *Meta { return &p.Meta },
		title:        func(p *Product) string { return p.Name },
		check:        (*Product).check,
		cells:        (*Product).cells,
		scan:         (*Product).scan,
		loadChildren: loadParts,
		saveChildren: saveParts,
		context:      productContext,
	}
}

func stated(v float64, is bool) sql.NullFloat64 { return sql.NullFloat64{Float64: v, Valid: is} }

func (p *Product) cells() []any {
	dose := ""
	if p.Dose != (Dose{}) {
		dose = withUnit(p.Dose.Amount, p.Dose.Unit.String())
	}
	substances := make([]substanceJSON, len(p.Substances))
	for i, s := range p.Substances {
		substances[i] = substanceJSON{s.Name, withUnit(s.Content, s.Per.String())}
	}
	list, _ := json.Marshal(substances)
	analysis := func(v float64) sql.NullFloat64 { return stated(v, p.Has&HasAnalysis != 0) }
	blend := ""
	if p.Kind == Blend {
		blend = blendBy(p.ByVolume)
	}
	return []any{
		p.Name, p.Note, p.Kind.String(), stated(p.DensityKgPerL, p.DensityKgPerL != 0), stated(p.ThousandKernelG, p.ThousandKernelG != 0),
		stated(p.GerminationPct, p.GerminationPct != 0), p.Lot, sql.NullString{String: string(p.RidesOn), Valid: p.RidesOn != ""}, dose,
		analysis(p.Analysis.NPct), analysis(p.Analysis.P2O5Pct), analysis(p.Analysis.K2OPct), analysis(p.Analysis.SPct),
		p.Registration, string(list), p.MaxRate.String(), sql.NullInt64{Int64: int64(p.MaxApplications), Valid: p.Has&HasMaxApplications != 0},
		stated(p.ReentryH, p.Has&HasReentry != 0), sql.NullInt64{Int64: int64(p.PreHarvestDays), Valid: p.Has&HasPreHarvest != 0}, blend,
		p.Price.String(),
	}
}

func blendBy(volume bool) string {
	if volume {
		return "volume"
	}
	return "mass"
}

func (p *Product) scan() ([]any, func() error) {
	var kind, dose, substances, rate, blend, price string
	var density, tkw, germination, n, p2o5, k2o, s, reentry sql.NullFloat64
	var rides sql.NullString
	var applications, days sql.NullInt64
	to := []any{
		&p.Name, &p.Note, &kind, &density, &tkw, &germination, &p.Lot, &rides, &dose, &n, &p2o5, &k2o, &s,
		&p.Registration, &substances, &rate, &applications, &reentry, &days, &blend, &price,
	}
	return to, func() (err error) {
		var ok bool
		if p.Kind, ok = productKind(kind); !ok {
			return fmt.Errorf("a product of the kind %q", kind)
		}
		p.DensityKgPerL, p.ThousandKernelG, p.GerminationPct = density.Float64, tkw.Float64, germination.Float64
		p.RidesOn = ID(rides.String)
		if p.Dose, ok = doseOf(dose); !ok && dose != "" {
			return fmt.Errorf("a dose of %q", dose)
		}
		p.Analysis.NPct, p.Analysis.P2O5Pct, p.Analysis.K2OPct, p.Analysis.SPct = n.Float64, p2o5.Float64, k2o.Float64, s.Float64
		p.MaxApplications, p.ReentryH, p.PreHarvestDays = int(applications.Int64), reentry.Float64, int(days.Int64)
		for _, has := range []struct {
			bit ProductHas
			is  bool
		}{{HasAnalysis, n.Valid}, {HasMaxApplications, applications.Valid}, {HasReentry, reentry.Valid}, {HasPreHarvest, days.Valid}} {
			if has.is {
				p.Has |= has.bit
			}
		}
		p.ByVolume = blend == blendBy(true)
		var list []substanceJSON
		if err := json.Unmarshal([]byte(substances), &list); err != nil {
			return fmt.Errorf("active substances: %w", err)
		}
		for _, j := range list {
			v, per, ok := contentOf(j.Content)
			if !ok {
				return fmt.Errorf("a content of %q", j.Content)
			}
			p.Substances = append(p.Substances, Substance{Name: j.Name, Content: v, Per: per})
		}
		if p.MaxRate, err = ParseRate(rate); err == nil {
			p.Price, err = ParsePrice(price)
		}
		return err
	}
}

// loadParts fills in the parts of the blends among products.
func loadParts(ctx context.Context, q querier, where string, args []any, of []Product) error {
	blends := map[ID]*Product{}
	for i := range of {
		if of[i].Kind == Blend {
			blends[of[i].ID] = &of[i]
		}
	}
	if len(blends) == 0 {
		return nil
	}
	rows, err := q.QueryContext(ctx, "SELECT blend, part, share FROM blend_part WHERE blend IN (SELECT id FROM product WHERE "+where+") ORDER BY blend, n", args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var blend ID
		var part Part
		if err := rows.Scan(&blend, &part.Product, &part.Share); err != nil {
			return err
		}
		if p := blends[blend]; p != nil {
			p.Parts = append(p.Parts, part)
		}
	}
	return rows.Err()
}

func saveParts(ctx context.Context, tx *sql.Tx, p *Product) error {
	if _, err := tx.ExecContext(ctx, "DELETE FROM blend_part WHERE blend = ?", p.ID); err != nil {
		return err
	}
	if len(p.Parts) == 0 {
		return nil
	}
	args := make([]any, 0, 4*len(p.Parts))
	for i, part := range p.Parts {
		args = append(args, p.ID, i, part.Product, part.Share)
	}
	_, err := tx.ExecContext(ctx, "INSERT INTO blend_part (blend, n, part, share) VALUES (?, ?, ?, ?)"+strings.Repeat(", (?, ?, ?, ?)", len(p.Parts)-1), args...)
	return err
}

// productContext finds references that lead nowhere, round in a circle, or to
// something that is no seed; and plans that a change of kind leaves without sense.
func productContext(ctx context.Context, q querier, p *Product) (problems, error) {
	all, err := productTable().all(ctx, q, "")
	if err != nil {
		return nil, err
	}
	b := newBook(append(all, *p))
	// Without p there was no circle, so one is through p, and the part that closes it
	// may be another's.
	circles := b.circles([]Product{*p})
	is := b.problems(*p, circles)
	if len(is) == 0 && len(circles) > 0 {
		is.add("parts", "a blend that is among the parts of its parts", "products that do not have it")
	}
	for _, other := range all { // a seed that something rides on stays one
		if other.RidesOn == p.ID && p.Kind != Seed {
			is.add("kind", p.Kind.String(), "seed, on which "+shown(other.Name)+" rides")
			break
		}
	}
	plans, err := planTable().all(ctx, q, "product = ?", p.ID)
	if err != nil {
		return nil, err
	}
	for _, l := range plans {
		if len(l.fits(*p)) > 0 {
			is.add("kind", p.Kind.String(), "one that fits its plans, such as that of "+l.Rate.String())
			break
		}
	}
	return is, nil
}
