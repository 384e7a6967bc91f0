package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"slices"

	"drawbar/internal/boundary"
	"drawbar/internal/catalog"
	"drawbar/internal/config"
)

// catalogueFields are the fields of the catalogue in the data folder, where there is
// one. A name that the configuration knows too is that of the configuration.
func catalogueFields(ctx context.Context, file config.File) (known []boundary.Field, err error) {
	c, err := catalog.OpenExisting(ctx, file.Data)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	fields, err := c.Fields.List(ctx, catalog.Which{})
	if err := errors.Join(err, c.Close()); err != nil {
		return nil, fmt.Errorf("read the fields of the catalogue: %w", err)
	}
	for _, f := range fields {
		if len(f.Outline) == 0 || slices.ContainsFunc(file.Fields.Known, func(k boundary.Field) bool { return boundary.Same(k.Name, f.Name) }) {
			continue
		}
		known = append(known, boundary.Field{Name: f.Name, Outline: f.Outline, AreaM2: f.AreaM2, File: c.Path(), At: "the catalogue"})
	}
	return known, nil
}
