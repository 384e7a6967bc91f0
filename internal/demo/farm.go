package demo

import (
	"context"
	_ "embed"
	"errors"
	"fmt"

	"drawbar/internal/catalog"
	"drawbar/internal/sim"

	"github.com/paulmach/orb"
)

// farmText is what Kettle Hollow Farm has and means to do, without outlines.
//
//go:embed farm.yaml
var farmText []byte

// stock fills an empty catalogue with the farm, its fields as the simulator has them.
func stock(ctx context.Context, dir string, fields []sim.Field) (err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("fill the catalogue of the demonstration: %w", err)
		}
	}()
	c, err := catalog.Open(ctx, dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, c.Close()) }()
	there, err := c.Fields.List(ctx, catalog.Which{Archived: true})
	if err != nil || len(there) > 0 {
		return err
	}
	if _, err := c.Import(ctx, "farm.yaml", farmText, false); err != nil {
		return err
	}
	for _, f := range fields {
		if err := outline(ctx, c, f); err != nil {
			return err
		}
	}
	return nil
}

func outline(ctx context.Context, c *catalog.Catalog, f sim.Field) error {
	ring := orb.Ring{}
	for _, p := range f.Ring() {
		ring = append(ring, orb.Point{p[0], p[1]})
	}
	shape := orb.MultiPolygon{{ring}}
	known, err := c.Fields.Named(ctx, f.Name)
	switch {
	case errors.Is(err, catalog.ErrNotFound):
		_, err = c.Fields.Add(ctx, catalog.Field{Name: f.Name, Outline: shape})
	case err == nil:
		known.Outline = shape
		_, err = c.Fields.Update(ctx, known)
	}
	return err
}
