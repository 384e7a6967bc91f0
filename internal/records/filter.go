package records

import (
	"slices"
	"strconv"
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

// sieve is a filter in the terms of a view: names are numbers.
type sieve struct {
	field, crop, product, person, work, session int32
	season                                      string
	year                                        int // 0: by season alone
	from, to                                    time.Time
}

const (
	anything int32 = -1
	nothing  int32 = -2 // a name that no work has
)

func (v *view) sieve(f *Filter) sieve {
	of := func(want *string) int32 {
		switch {
		case want == nil:
			return anything
		case *want == None:
			return v.names.find("")
		}
		return v.names.find(fold(*want))
	}
	s := sieve{
		field: of(f.Field), crop: of(f.Crop), product: of(f.Product), person: of(f.Person), work: of(f.Operation), session: anything,
		season: f.Season, from: f.From, to: f.To,
	}
	if f.Session != "" {
		s.session = v.sessions.find(f.Session)
	}
	if y, err := strconv.Atoi(f.Season); err == nil {
		s.year = y
	}
	return s
}

// operation tells whether an operation passes, whatever of it counts.
func (s *sieve) operation(o *item) bool {
	pass := func(want, has int32) bool { return want == anything || want == has }
	switch {
	case !pass(s.field, o.field), !pass(s.crop, o.crop), !pass(s.work, o.work):
		return false
	case !s.from.IsZero() && o.OperationRecord.Start.Before(s.from), !s.to.IsZero() && !o.OperationRecord.Start.Before(s.to):
		return false
	case s.season != "" && s.season != string(o.SeasonID) && (s.year == 0 || s.year != o.Year):
		return false
	}
	return s.session == anything || slices.Contains(o.sessions, s.session)
}

// names numbers names.
type names struct {
	ids   map[string]int32
	texts []string
}

func (n *names) id(text string) int32 {
	id, known := n.ids[text]
	if !known {
		id = int32(len(n.texts))
		n.ids[text], n.texts = id, append(n.texts, text)
	}
	return id
}

func (n *names) find(text string) int32 {
	if id, known := n.ids[text]; known {
		return id
	}
	return nothing
}
