// Package catalog is what a farm has and means to do: fields with their outlines
// and seasons, implements and tractors, products, people and plans, in one file
// catalog.db (SQLite) in the data folder.
//
//	c, err := catalog.Open(ctx, dir)
//	f, err := c.Fields.Add(ctx, catalog.Field{Name: "Mill Piece", Outline: outline})
//	f.Note = "wet in the north corner"
//	f, err = c.Fields.Update(ctx, f) // ErrConflict where another was faster
//
//	field --< season --< plan >-- product --< part of a blend
//	                                 ^------- the seed that a treatment rides on
//	implement    tractor    person    field --< mark
//
// Every item has an id that is made once and never given to another, and a
// revision that grows by one with each change: who changes an item states the
// revision he saw. What others refer to is archived instead of removed; archived
// items keep their ids and leave their names to others.
//
// An outline comes in degrees WGS 84 and has passed the checks of an operator's
// line; the area is worked out, never entered. The analysis of a blend follows
// from its parts. drawbar holds no label database: the limits of a crop protection
// product are what the user copied from the label, which alone counts.
//
// Every write is one transaction, on the disk when it returns: a program that is
// killed, or a board that loses its power, leaves the old state or the new one.
// Other programs may read the file meanwhile; a second writer waits its turn.
//
// Document is the whole catalogue in memory; Encode writes it as YAML or JSON and
// Import reads it back, all of it or nothing.
package catalog
