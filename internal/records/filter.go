package records

import (
	"strings"
	"time"
)

// None is what a filter names to find work of which a thing was not stated.
const None = "-"

// Filter picks work. A nil member, the zero value of others, lets everything pass;
// names are compared without regard to the case of letters.
type Filter struct {
	Field     *string // name; None: of no field
	Crop      *string
	Product   *string   // then only what was laid of it counts, and its ground
	Person    *string   // then only what that person did counts
	Operation *string   // as seeding
	Season    string    // the id of a season of the catalogue, or a year such as 2026
	From, To  time.Time // by the start of the operation, To excluded
	Session   string    // any part in it
}

// fold is a name as it is compared.
func fold(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

// named tells whether a name passes.
func named(want *string, name string) bool {
	switch {
	case want == nil:
		return true
	case *want == None:
		return fold(name) == ""
	}
	return fold(*want) == fold(name)
}

// operation tells whether an operation passes, whatever of it counts.
func (f *Filter) operation(o *Operation) bool {
	switch {
	case !named(f.Field, o.Field), !named(f.Crop, o.Grown), !named(f.Operation, o.OperationFigures.Operation):
		return false
	case !f.From.IsZero() && o.OperationRecord.Start.Before(f.From), !f.To.IsZero() && !o.OperationRecord.Start.Before(f.To):
		return false
	case f.Season != "" && f.Season != string(o.SeasonID) && f.Season != yearText(o.Year):
		return false
	}
	return f.Session == "" || o.in(f.Session)
}

func (o *Operation) in(session string) bool {
	if len(o.Parts) == 0 {
		return o.Session == session
	}
	for i := range o.Parts {
		if o.Parts[i].Session == session {
			return true
		}
	}
	return false
}
