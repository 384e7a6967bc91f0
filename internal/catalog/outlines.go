package catalog

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
)

// ExistsError says which fields of several are in the catalogue already.
type ExistsError struct{ Names []string }

// Error has one field a line.
func (e *ExistsError) Error() string {
	lines := make([]string, len(e.Names))
	for i, n := range e.Names {
		lines[i] = shown(n) + ": the catalogue has a field of this name"
	}
	return strings.Join(lines, "\n")
}

// PutFields adds fields with their outlines, all or none. With update those whose
// name the catalogue has get the new outline and keep everything else; without it
// they are an *ExistsError.
func (c *Catalog) PutFields(ctx context.Context, fields []Field, update bool) (n Changes, err error) {
	t := c.Fields.table
	err = c.write(ctx, "add fields", func(tx *sql.Tx) error {
		exists := &ExistsError{}
		var faults []error
		for _, f := range fields {
			found, err := t.all(ctx, tx, "archived = 0 AND name_key = ?", nameKey(f.Name))
			if err != nil {
				return err
			}
			switch {
			case len(found) == 0:
				f.Meta = Meta{ID: NewID(), Revision: 1}
				if err = t.valid(ctx, tx, &f); err == nil {
					err = t.insert(ctx, tx, &f)
				}
				n.Added++
			case !update:
				exists.Names = append(exists.Names, f.Name)
			default:
				now := found[0]
				now.Outline = f.Outline
				if err = t.valid(ctx, tx, &now); err != nil {
					break
				}
				if same(t, &now, &found[0]) {
					n.Same++
					break
				}
				err = t.update(ctx, tx, &now)
				n.Changed++
			}
			var invalid *InvalidError
			if errors.As(err, &invalid) {
				faults = append(faults, fmt.Errorf("%s: %w", shown(f.Name), err))
			} else if err != nil {
				return err
			}
		}
		if len(exists.Names) > 0 {
			faults = append(faults, exists)
		}
		return errors.Join(faults...)
	})
	if err != nil {
		return Changes{}, err
	}
	return n, nil
}
