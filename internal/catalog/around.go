package catalog

import (
	"context"
	"database/sql"
	"strconv"
)

// Around is what the catalogue has for work on one field: nothing in it is
// archived but for products, which may still be in a tank.
type Around struct {
	Field      *Field // nil: there is none of that name
	Seasons    []Season
	Plans      []Plan // of all these seasons, by season, then by order
	Products   []Product
	Implements []Implement
	Tractors   []Tractor
	People     []Person
}

// Around reads what there is for work on the field of a name, of one moment. An
// empty name is no field.
func (c *Catalog) Around(ctx context.Context, field string) (a Around, err error) {
	err = c.read(ctx, "read what there is for the work", func(tx *sql.Tx) error {
		if field != "" {
			if err := c.land(ctx, tx, field, &a); err != nil {
				return err
			}
		}
		if a.Products, err = c.Products.table.all(ctx, tx, ""); err != nil {
			return err
		}
		const used = "archived = 0"
		if a.Implements, err = c.Implements.table.all(ctx, tx, used); err != nil {
			return err
		}
		if a.Tractors, err = c.Tractors.table.all(ctx, tx, used); err != nil {
			return err
		}
		a.People, err = c.People.table.all(ctx, tx, used)
		return err
	})
	return a, err
}

func (c *Catalog) land(ctx context.Context, tx *sql.Tx, field string, a *Around) error {
	found, err := c.Fields.table.all(ctx, tx, "archived = 0 AND name_key = ?", nameKey(field))
	if err != nil || len(found) == 0 {
		return err
	}
	a.Field = &found[0]
	if a.Seasons, err = c.Seasons.table.all(ctx, tx, "archived = 0 AND field = ?", a.Field.ID); err != nil {
		return err
	}
	for _, s := range a.Seasons {
		plans, err := c.Plans.table.all(ctx, tx, "archived = 0 AND season = ?", s.ID)
		if err != nil {
			return err
		}
		a.Plans = append(a.Plans, plans...)
	}
	return nil
}

// Product is the product of a name, whatever the case of its letters: one in use
// first, else an archived one; nil where there is none.
func (a *Around) Product(name string) *Product {
	var archived *Product
	for i := range a.Products {
		p := &a.Products[i]
		if nameKey(p.Name) != nameKey(name) {
			continue
		}
		if !p.Archived {
			return p
		}
		archived = p
	}
	return archived
}

// ProductOf is the product of an id; nil where there is none.
func (a *Around) ProductOf(id ID) *Product {
	for i := range a.Products {
		if a.Products[i].ID == id {
			return &a.Products[i]
		}
	}
	return nil
}

// Season is the season that a day falls in: the one of which the dates hold it, the
// latest to begin first; else the one of that year; else one of the next year, as a
// winter crop is sown in autumn; nil where there is none. Of two the later in the
// list counts, which is the later to begin.
func (a *Around) Season(day Date) *Season {
	if !day.Valid() {
		return nil
	}
	year, err := strconv.Atoi(string(day[:4]))
	if err != nil {
		return nil
	}
	var by [3]*Season
	for i := range a.Seasons {
		s := &a.Seasons[i]
		switch {
		case s.Start != "" && s.Start <= day && (s.End == "" || day <= s.End):
			if by[0] == nil || by[0].Start <= s.Start {
				by[0] = s
			}
		case s.Start == "" && s.Year == year:
			by[1] = s
		case s.Start == "" && s.Year == year+1:
			by[2] = s
		}
	}
	for _, s := range by {
		if s != nil {
			return s
		}
	}
	return nil
}

// PlansOf are the plans of a season, by their order.
func (a *Around) PlansOf(season ID) (out []Plan) {
	for _, p := range a.Plans {
		if p.Season == season {
			out = append(out, p)
		}
	}
	return out
}
