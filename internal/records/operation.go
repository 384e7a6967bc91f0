package records

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"drawbar/internal/catalog"
	"drawbar/replay"
)

// Ref names an operation: by its session and its number in it, from 1. Of a joined
// one it is that of its first part.
type Ref struct {
	Session string
	Number  int
}

// String is "000017-20260514T130510Z/2".
func (r Ref) String() string { return r.Session + "/" + strconv.Itoa(r.Number) }

// ParseRef reads what String wrote.
func ParseRef(s string) (Ref, error) {
	session, number, _ := strings.Cut(s, "/")
	n, err := strconv.Atoi(number)
	if session == "" || err != nil || n < 1 {
		return Ref{}, fmt.Errorf("%q: want a session and the number of its operation, as 000017-20260514T130510Z/2", s)
	}
	return Ref{session, n}, nil
}

// Operation is one job as it counts: an operation of a session, or several that were
// joined. It is shared and never changed.
type Operation struct {
	replay.OperationRecord
	Session string  // of its first part where joined
	Sums    []Sum   // its products, each name and unit once
	FieldS  float64 // s from the first moment worked to the last, stops included; of parts added up

	Parts []Operation // of a joined one, in the order of their start; nil: of one session
	Join  int         // its line in joins.jsonl, from 1; 0: not joined

	// By the catalogue, as it stands now.
	FieldID   catalog.ID // "": no field of that name
	SeasonID  catalog.ID // "": no season of that field fits
	Year      int        // of the season; without one the calendar's; 0: no time is known
	Grown     string     // crop: as stated in the session, else that of the season; "": not known
	FieldArea float64    // m2 inside the boundary that was stated, else of the catalogue; 0: not known
}

// Ref is its name.
func (o *Operation) Ref() Ref { return Ref{o.Session, o.Number} }

// Sum is what was used of one product, from whatever tanks. Ground on which several
// tanks laid it at once counts once.
type Sum struct {
	Name    string
	Unit    string // kg, l or seeds; "": not known
	Tanks   []int
	AreaM2  float64 // gross
	RatedM2 float64 // on which its rate was known
	Applied *float64
	Target  *float64 // mean, per m2
}

// State tells how a session or a join stands.
type State string

// The states.
const (
	Current State = "current" // as recorded and corrected
	Working State = "working" // being worked out, or waiting for it; figures are the ones before
	Failed  State = "failed"  // it cannot be worked out
)

// Session is one recorded session.
type Session struct {
	Name       string
	State      State
	Err        string    // of one that failed
	Share      float64   // of what is being worked out, 0 to 1
	Start, End time.Time // first and last moment worked; zero: nothing was worked, or not known yet
	Bytes      int64
	Operations int
	Corrected  int      // lines of corrections
	Warnings   []string // of the replay
}
