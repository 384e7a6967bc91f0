package catalog

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"

	"drawbar/coverage"
	"drawbar/replay/statement"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkb"
)

// This file is how each kind stands in its table (migrations/*.sql).

func fieldTable() *table[Field] {
	return &table[Field]{
		kind: KindField, name: "field", order: "name_key", named: true,
		file: file[Field]{
			in:     func(d *Document) *[]Field { return &d.Fields },
			read:   func(r *reader, n *statement.Node) { r.field(n, "") },
			encode: (*encoder).field,
		},
		columns: []string{"name", "note", "area_m2", "outline"}, brief: []string{"name", "note", "area_m2", "NULL"},
		meta:  func(f *Field) *Meta { return &f.Meta },
		title: func(f *Field) string { return f.Name },
		check: (*Field).check,
		cells: func(f *Field) []any {
			if f.Outline == nil {
				return []any{f.Name, f.Note, nil, nil}
			}
			return []any{f.Name, f.Note, f.AreaM2, wkb.MustMarshal(f.Outline)}
		},
		scan: func(f *Field) ([]any, func() error) {
			var outline []byte
			var area sql.NullFloat64
			return []any{&f.Name, &f.Note, &area, &outline}, func() error {
				f.AreaM2 = area.Float64
				if outline == nil {
					return nil
				}
				g, err := wkb.Unmarshal(outline)
				if err != nil {
					return fmt.Errorf("outline: %w", err)
				}
				m, ok := g.(orb.MultiPolygon)
				if !ok {
					return fmt.Errorf("outline: a %s", g.GeoJSONType())
				}
				f.Outline = m
				return nil
			}
		},
	}
}

func seasonTable() *table[Season] {
	return &table[Season]{
		kind: KindSeason, name: "season", parent: "field",
		file: file[Season]{
			in:     func(d *Document) *[]Season { return &d.Seasons },
			read:   func(r *reader, n *statement.Node) { r.season(n, "", "") },
			encode: (*encoder).season,
			parent: func(s *Season) *ID { return &s.Field },
		},
		order:   "field, CASE start_date WHEN '' THEN printf('%04d-01-01', year) ELSE start_date END, crop",
		columns: []string{"field", "crop", "crop_code", "year", "start_date", "end_date", "target_yield", "note"},
		meta:    func(s *Season) *Meta { return &s.Meta },
		check:   (*Season).check,
		cells: func(s *Season) []any {
			return []any{s.Field, s.Crop, s.CropCode, s.Year, s.Start, s.End, s.TargetYield.String(), s.Note}
		},
		scan: func(s *Season) ([]any, func() error) {
			var yield string
			return []any{&s.Field, &s.Crop, &s.CropCode, &s.Year, &s.Start, &s.End, &yield, &s.Note}, func() (err error) {
				s.TargetYield, err = ParseRate(yield)
				return err
			}
		},
		context: func(ctx context.Context, q querier, s *Season) (is problems, err error) {
			return is, is.exists(ctx, q, "field", "field", s.Field)
		},
	}
}

func planTable() *table[Plan] {
	return &table[Plan]{
		kind: KindPlan, name: "plan", parent: "season", order: "season, step, tank, operation",
		file: file[Plan]{
			in:     func(d *Document) *[]Plan { return &d.Plans },
			read:   func(r *reader, n *statement.Node) { r.plan(n, "", "") },
			encode: (*encoder).plan,
			parent: func(l *Plan) *ID { return &l.Season },
		},
		columns: []string{"season", "step", "operation", "product", "rate", "tank", "note"},
		meta:    func(l *Plan) *Meta { return &l.Meta },
		check:   (*Plan).check,
		cells: func(l *Plan) []any {
			return []any{l.Season, l.Order, l.Operation, l.Product, l.Rate.String(), l.Tank, l.Note}
		},
		scan: func(l *Plan) ([]any, func() error) {
			var rate string
			return []any{&l.Season, &l.Order, &l.Operation, &l.Product, &rate, &l.Tank, &l.Note}, func() (err error) {
				l.Rate, err = ParseRate(rate)
				return err
			}
		},
		context: func(ctx context.Context, q querier, l *Plan) (is problems, err error) {
			if err := is.exists(ctx, q, "season", "season", l.Season); err != nil {
				return nil, err
			}
			found, err := productTable().all(ctx, q, "id = ?", l.Product)
			if err != nil {
				return nil, err
			}
			if len(found) == 0 {
				is.add("product", string(l.Product), "the id of a product that there is")
				return is, nil
			}
			return append(is, l.fits(found[0])...), nil
		},
	}
}

// exists adds a problem where a reference leads nowhere.
func (p *problems) exists(ctx context.Context, q querier, key, table string, id ID) error {
	var n int
	err := q.QueryRowContext(ctx, "SELECT count(*) FROM "+table+" WHERE id = ?", id).Scan(&n)
	if err == nil && n == 0 {
		p.add(key, string(id), "the id of a "+table+" that there is")
	}
	return err
}

func implementTable() *table[Implement] {
	return &table[Implement]{
		kind: KindImplement, name: "implement", order: "name_key", named: true,
		file: file[Implement]{
			in:     func(d *Document) *[]Implement { return &d.Implements },
			read:   func(r *reader, n *statement.Node) { r.implement(n, "") },
			encode: (*encoder).implement,
		},
		columns: []string{"name", "note", "operation", "mount", "antenna_to_hitch_m", "antenna_right_m", "hitch_to_axle_m", "hitch_to_bar_m", "bar_right_m", "sections_m"},
		meta:    func(im *Implement) *Meta { return &im.Meta },
		title:   func(im *Implement) string { return im.Name },
		check:   (*Implement).check,
		cells: func(im *Implement) []any {
			widths, _ := json.Marshal(im.SectionsM) // finite numbers, by check
			return []any{
				im.Name, im.Note, im.Operation, statement.MountName(im.Mount), im.AntennaToHitchM, im.AntennaRightM,
				im.HitchToAxleM, im.HitchToBarM, im.BarRightM, string(widths),
			}
		},
		scan: func(im *Implement) ([]any, func() error) {
			var mount, widths string
			return []any{
					&im.Name, &im.Note, &im.Operation, &mount, &im.AntennaToHitchM, &im.AntennaRightM,
					&im.HitchToAxleM, &im.HitchToBarM, &im.BarRightM, &widths,
				}, func() error {
					if mount == statement.MountName(coverage.MountTowed) {
						im.Mount = coverage.MountTowed
					}
					return json.Unmarshal([]byte(widths), &im.SectionsM)
				}
		},
	}
}

func tractorTable() *table[Tractor] {
	return &table[Tractor]{
		kind: KindTractor, name: "tractor", order: "name_key", named: true,
		file: file[Tractor]{
			in:     func(d *Document) *[]Tractor { return &d.Tractors },
			read:   func(r *reader, n *statement.Node) { r.tractor(n, "") },
			encode: (*encoder).tractor,
		},
		columns: []string{"name", "note", "antenna_right_m", "antenna_to_hitch_m", "antenna_to_linkage_m"},
		meta:    func(t *Tractor) *Meta { return &t.Meta },
		title:   func(t *Tractor) string { return t.Name },
		check:   (*Tractor).check,
		cells: func(t *Tractor) []any {
			return []any{t.Name, t.Note, t.AntennaRightM, t.AntennaToHitchM, sql.NullFloat64{Float64: t.AntennaToLinkageM, Valid: t.HasLinkage}}
		},
		scan: func(t *Tractor) ([]any, func() error) {
			var linkage sql.NullFloat64
			return []any{&t.Name, &t.Note, &t.AntennaRightM, &t.AntennaToHitchM, &linkage}, func() error {
				t.AntennaToLinkageM, t.HasLinkage = linkage.Float64, linkage.Valid
				return nil
			}
		},
	}
}

func personTable() *table[Person] {
	return &table[Person]{
		kind: KindPerson, name: "person", order: "name_key", named: true,
		file: file[Person]{
			in:     func(d *Document) *[]Person { return &d.People },
			read:   func(r *reader, n *statement.Node) { r.person(n, "") },
			encode: (*encoder).person,
		},
		columns: []string{"name", "licence", "note"},
		meta:    func(p *Person) *Meta { return &p.Meta },
		title:   func(p *Person) string { return p.Name },
		check:   (*Person).check,
		cells:   func(p *Person) []any { return []any{p.Name, p.Licence, p.Note} },
		scan:    func(p *Person) ([]any, func() error) { return []any{&p.Name, &p.Licence, &p.Note}, nil },
	}
}
