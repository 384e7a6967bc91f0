// Package config reads the configuration: one YAML file, the same for the
// daemon and for a replay.
//
//	file, err := config.Load("drawbar.yaml")
//
// Load gives values that are checked and ready to use: SI numbers, an
// implement, tanks, a compiled line profile, the field's outline. Nothing later
// checks them again. What the file does not state has its default; an empty
// file is valid. If anything in it is wrong, the error is an *Error with all
// faults at once, each with file, line, column, what stands there and what
// should stand there.
//
// The outline of field.boundary, and the fields that the machine may come to
// (fields, a path or {path, name_from}), are read by package boundary: of a file
// with several fields field.name picks one, and without field.boundary it picks
// one of the known fields. A recording keeps the text and the field's outline
// (File.Outline), not the other fields; ParseRecorded reads it back.
//
// The implement, the tanks and the field go through package statement, which
// reads the same shapes from operator lines. Anchors, aliases, tags and several
// documents in one file are refused: a configuration says each thing once,
// where it is read.
package config
