package boundary

import (
	"fmt"
	"strings"

	"drawbar/replay/statement"

	"github.com/paulmach/orb"
)

// Bounds of what is read, far above what a farm has.
const (
	MaxBytes     = 64 << 20  // of a file, and of all that is unpacked from one
	MaxFields    = 20_000    // in a file
	MaxPositions = 1_000_000 // in a file; a field has at most 50,000
	maxFiles     = 1000      // in an archive or a folder
	maxFaults    = 100       // told of one file
)

// Field is one field as a file has it. It is not to be changed.
type Field struct {
	Name     string           // without blanks around it; "" = the file gives none
	Outline  orb.MultiPolygon // WGS 84 degrees, longitude before latitude; rings closed, the outer one first
	AreaM2   float64          // on the ellipsoid, holes taken off
	Warnings []string         // what a person should know of it

	File string // that it was read from
	At   string // where in that file, in words
}

// Holes counts what is left out of the field: ponds, poles, bush.
func (f Field) Holes() int {
	n := 0
	for _, p := range f.Outline {
		n += len(p) - 1
	}
	return n
}

// Corners counts the positions of the outline, each once.
func (f Field) Corners() int {
	n := 0
	for _, p := range f.Outline {
		for _, r := range p {
			n += len(r) - 1
		}
	}
	return n
}

// place is where the field stands, for a person to find.
func (f Field) place() string { return f.File + ", " + f.At }

// Fault is one thing wrong in a file.
type Fault struct {
	File string
	statement.Fault
}

// Error reads "fields.shp: record 3 (Mill Piece), coordinates[0][0][5]: got …, want …".
func (f Fault) Error() string {
	if f.Line == 0 {
		return f.File + ": " + f.Text()
	}
	return f.File + ":" + f.Fault.Error()
}

// Error is everything wrong with a file, or with several.
type Error struct {
	Faults []Fault
	More   int // beyond those listed
}

// Error has one fault a line.
func (e *Error) Error() string {
	lines := make([]string, len(e.Faults), len(e.Faults)+1)
	for i, f := range e.Faults {
		lines[i] = f.Error()
	}
	if e.More > 0 {
		lines = append(lines, fmt.Sprintf("and %d more", e.More))
	}
	return strings.Join(lines, "\n")
}

// Options say how a file is read.
type Options struct {
	// NameFrom is the attribute that holds the fields' names, whatever the case of
	// its letters. "" = of KML the Placemark's name, else the first there is of name,
	// field_name, fieldname, field, label and title.
	NameFrom string
}

func usualNames() []string {
	return []string{"name", "field_name", "fieldname", "field", "label", "title"}
}

// attribute is the one of the attributes that holds the name, -1 = none.
func (o Options) attribute(names []string) int {
	wanted := usualNames()
	if o.NameFrom != "" {
		wanted = []string{o.NameFrom}
	}
	for _, w := range wanted {
		for i, n := range names {
			if strings.EqualFold(strings.TrimSpace(n), w) {
				return i
			}
		}
	}
	return -1
}
