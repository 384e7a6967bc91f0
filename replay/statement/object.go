package statement

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Object reads the members of one map by key and notes what is wrong with
// them. Every reader below gives ok = false where the member is absent, and
// also where it is at fault, which it has then noted.
type Object struct {
	node   *Node
	faults *Faults
	at     string // path of the map, "" at the top
}

// Open begins reading n as a map whose keys are all in known. A key that is
// not is noted with the nearest known one. ok is false where n is no map.
func Open(n *Node, at string, faults *Faults, known []string) (o Object, ok bool) {
	if n.Kind != KindMap {
		faults.Add(n, at, describe(n), "keys with values: "+strings.Join(known, ", "))
		return Object{}, false
	}
	o = Object{node: n, faults: faults, at: at}
	for i := range n.Members {
		m := &n.Members[i]
		if contains(known, m.Key) {
			continue
		}
		want := "one of " + strings.Join(known, ", ")
		if near := nearest(m.Key, known); near != "" {
			want = fmt.Sprintf("a known key (did you mean %s?)", near)
		}
		faults.Add(&Node{Line: m.Line, Col: m.Col}, o.path(clip(m.Key)), "an unknown key", want)
	}
	return o, true
}

func contains(list []string, s string) bool {
	for _, k := range list {
		if k == s {
			return true
		}
	}
	return false
}

func (o Object) path(key string) string {
	if o.at == "" {
		return key
	}
	return o.at + "." + key
}

// Path is where the member key of this map stands.
func (o Object) Path(key string) string { return o.path(key) }

// Get is the member key, nil where it is absent.
func (o Object) Get(key string) *Node { return o.node.Get(key) }

// Fault notes something wrong with member key: at its value, or at the map
// where it is absent.
func (o Object) Fault(key, got, want string) {
	n := o.Get(key)
	if n == nil {
		n = o.node
	}
	o.faults.Add(n, o.path(key), got, want)
}

// Missing notes that member key must be there.
func (o Object) Missing(key, want string) {
	o.faults.Add(o.node, o.path(key), "nothing", want)
}

// Range is which numbers are possible. Unit is a word for people, "" for a
// plain number.
type Range struct {
	Unit  string
	Min   float64
	Max   float64
	Above bool // Min itself is not possible
}

// String reads "a number of metres above 0, at most 100".
func (r Range) String() string {
	s := "a number"
	if r.Unit != "" {
		s += " of " + r.Unit
	}
	if r.Above {
		return fmt.Sprintf("%s above %s, at most %s", s, short(r.Min), short(r.Max))
	}
	return fmt.Sprintf("%s from %s to %s", s, short(r.Min), short(r.Max))
}

func (r Range) holds(v float64) bool {
	if math.IsNaN(v) || v > r.Max || v < r.Min {
		return false
	}
	return !r.Above || v > r.Min
}

func short(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// number reads n as a number in r.
func number(n *Node, at string, faults *Faults, r Range) (float64, bool) {
	if n.Kind != KindNumber {
		faults.Add(n, at, describe(n), r.String())
		return 0, false
	}
	if !r.holds(n.Num) {
		faults.Add(n, at, value(n), r.String())
		return 0, false
	}
	if n.Num == 0 {
		return 0, true // -0 is 0
	}
	return n.Num, true
}

// Number reads a number in r.
func (o Object) Number(key string, r Range) (v float64, ok bool) {
	n := o.Get(key)
	if n == nil {
		return 0, false
	}
	return number(n, o.path(key), o.faults, r)
}

// Int reads a whole number from lo to hi.
func (o Object) Int(key string, lo, hi int) (v int, ok bool) {
	n := o.Get(key)
	if n == nil {
		return 0, false
	}
	if n.Kind == KindNumber && n.Num >= float64(lo) && n.Num <= float64(hi) && n.Num == math.Trunc(n.Num) {
		return int(n.Num), true
	}
	o.Fault(key, describe(n), fmt.Sprintf("a whole number from %d to %d", lo, hi))
	return 0, false
}

// Bool reads true or false.
func (o Object) Bool(key string) (v, ok bool) {
	n := o.Get(key)
	if n == nil {
		return false, false
	}
	if n.Kind != KindBool {
		o.Fault(key, describe(n), "true or false")
		return false, false
	}
	return n.Bool, true
}

// The lengths of texts, in bytes: a name fits on a screen, a note on a page.
const (
	MaxName = 200
	MaxNote = 10_000
)

// Name reads a text of one line that is not empty; want says what it is, as
// in "the field's name".
func (o Object) Name(key, want string) (s string, ok bool) {
	s, ok = o.text(key, want, MaxName, false)
	if ok && strings.TrimSpace(s) == "" {
		o.Fault(key, "an empty text", want)
		return "", false
	}
	return s, ok
}

// Note reads a text that may have several lines and may be empty.
func (o Object) Note(key, want string) (s string, ok bool) {
	return o.text(key, want, MaxNote, true)
}

func (o Object) text(key, want string, most int, lines bool) (string, bool) {
	n := o.Get(key)
	if n == nil {
		return "", false
	}
	switch {
	case n.Kind == KindNumber || n.Kind == KindBool:
		o.Fault(key, describe(n), fmt.Sprintf("%s as a text in quotes: %q", want, cut(value(n))))
	case n.Kind != KindText:
		o.Fault(key, describe(n), want)
	case len(n.Text) > most:
		o.Fault(key, fmt.Sprintf("%d bytes", len(n.Text)), fmt.Sprintf("%s of at most %d bytes", want, most))
	case !printable(n.Text, lines):
		o.Fault(key, value(n), want+" without control characters")
	default:
		return n.Text, true
	}
	return "", false
}

func printable(s string, lines bool) bool {
	if !utf8.ValidString(s) {
		return false
	}
	for _, r := range s {
		if unicode.IsControl(r) && !(lines && (r == '\n' || r == '\r' || r == '\t')) {
			return false
		}
	}
	return true
}

// Choice reads one of the given words.
func (o Object) Choice(key string, words ...string) (s string, ok bool) {
	n := o.Get(key)
	if n == nil {
		return "", false
	}
	want := "one of " + strings.Join(words, ", ")
	if n.Kind != KindText {
		o.Fault(key, describe(n), want)
		return "", false
	}
	if contains(words, n.Text) {
		return n.Text, true
	}
	if near := nearest(n.Text, words); near != "" {
		want += fmt.Sprintf(" (did you mean %s?)", near)
	}
	o.Fault(key, value(n), want)
	return "", false
}

// List is the items of member key; at gives the path of each. ok is false
// where it is absent or no list.
func (o Object) List(key, want string) (items []Node, ok bool) {
	n := o.Get(key)
	if n == nil {
		return nil, false
	}
	if n.Kind != KindList {
		o.Fault(key, describe(n), want)
		return nil, false
	}
	return n.Items, true
}

func indexed(at string, i int) string { return at + "[" + strconv.Itoa(i) + "]" }

// Raw reads a text as it stands, blanks and control characters included.
func (o Object) Raw(key, want string) (s string, ok bool) {
	n := o.Get(key)
	if n == nil {
		return "", false
	}
	if n.Kind != KindText || len(n.Text) > MaxNote {
		o.Fault(key, describe(n), want)
		return "", false
	}
	return n.Text, true
}
