package main

import (
	"bytes"
	"path/filepath"
	"testing"

	"drawbar/internal/boundary"
	"drawbar/internal/config"
)

// The fields of the catalogue are known beside those of the configuration.
func TestCatalogueFieldsAreKnown(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := config.Default()
	file.Data = dir
	if known, err := catalogueFields(t.Context(), file); err != nil || len(known) != 0 {
		t.Errorf("without a catalogue: %v, %d fields", err, len(known))
	}
	var out, errs bytes.Buffer
	outline := filepath.Join("..", "..", "testdata", "sessions", "mill-piece", "boundary.geojson")
	if code := Run(t.Context(), []string{"catalog", "add-fields", "--data", dir, outline}, nil, &out, &errs); code != exitOK {
		t.Fatalf("add-fields: exit %d: %s", code, errs.String())
	}
	known, err := catalogueFields(t.Context(), file)
	if err != nil {
		t.Fatal(err)
	}
	if len(known) != 1 || known[0].Name != "Mill Piece" || len(known[0].Outline) != 1 {
		t.Errorf("got %+v", known)
	}
	file.Fields.Known = []boundary.Field{{Name: "mill piece"}}
	if known, err := catalogueFields(t.Context(), file); err != nil || len(known) != 0 {
		t.Errorf("beside one of that name: %v, %d fields", err, len(known))
	}
}
