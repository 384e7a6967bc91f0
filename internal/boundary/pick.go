package boundary

import (
	"fmt"
	"slices"
	"strings"

	"drawbar/replay/statement"

	"github.com/paulmach/orb"
)

// Same tells whether two names mean one field.
func Same(a, b string) bool {
	return strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b))
}

// list names the first ten fields.
func list(fields []Field) string {
	var names []string
	for _, f := range fields {
		if f.Name != "" && !slices.Contains(names, f.Name) {
			names = append(names, f.Name)
		}
	}
	slices.Sort(names)
	const most = 10
	if len(names) > most {
		return strings.Join(names[:most], ", ") + fmt.Sprintf(" and %d more", len(names)-most)
	}
	return strings.Join(names, ", ")
}

// Pick is the field of a file that a name means: the one so called, whatever the
// case of its letters; the only one there is; or, where none has a name, all
// together. An error is an *Error.
func Pick(file string, fields []Field, name string) (Field, error) {
	fail := func(got, want string) (Field, error) {
		return Field{}, &Error{Faults: []Fault{{File: file, Fault: plain("", got, want)}}}
	}
	var found []Field
	named := false
	for _, f := range fields {
		named = named || f.Name != ""
		if f.Name != "" && Same(f.Name, name) {
			found = append(found, f)
		}
	}
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(found) > 1:
		return fail(fmt.Sprintf("two fields %s: %s and %s", found[0].Name, found[0].At, found[1].At), "one: name them apart, or make them one field of several parts")
	case len(fields) == 0:
		return fail("no field", "the field "+clean(name))
	case len(fields) == 1:
		return fields[0], nil
	case named:
		return fail("no field "+clean(name), "one of "+list(fields))
	}
	all := fields[0]
	all.Outline, all.AreaM2 = orb.MultiPolygon{}, 0
	for _, f := range fields {
		all.Outline = append(all.Outline, f.Outline...)
		all.AreaM2 += f.AreaM2
	}
	all.At = fmt.Sprintf("%d outlines without a name", len(fields))
	var faults statement.Faults
	if _, ok := statement.Outline(all.Outline, "the outlines together", &faults); !ok {
		return Field{}, &Error{Faults: []Fault{{File: file, Fault: faults.List()[0]}}}
	}
	return all, nil
}
