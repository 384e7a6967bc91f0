package catalog

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"drawbar/controller"
	"drawbar/replay/statement"
)

// problems are what is wrong with an item, each with the path of its member as the
// file has it.
type problems []controller.Problem

func (p *problems) add(path, got, want string) {
	*p = append(*p, controller.Problem{Path: path, Got: got, Want: want})
}

// once adds a problem unless its member has one already.
func (p *problems) once(one controller.Problem) {
	if !slices.ContainsFunc(*p, func(q controller.Problem) bool { return q.Path == one.Path }) {
		*p = append(*p, one)
	}
}

// rangeOf is which numbers a member may have. The distances are those of an
// implement; a germination or a share is a part of the whole; the densest
// solutions of fertiliser have some 1.7 kg/l and the lightest liquids 0.6 (common
// practice, no source), so 0.2 to 5 catches a slip of the unit.
func rangeOf(key string) statement.Range {
	switch key {
	case "antenna_right_m", "antenna_to_hitch_m", "antenna_to_linkage_m":
		return statement.Range{Unit: "metres", Min: -50, Max: 50}
	case "thousand_kernel_g":
		return statement.Range{Unit: "grams", Max: 10_000, Above: true}
	case "germination_pct":
		return statement.Range{Unit: "per cent", Max: 100, Above: true}
	case "n_pct", "p2o5_pct", "k2o_pct", "s_pct":
		return statement.Range{Unit: "per cent of the mass", Max: 100}
	case "density_kg_per_l":
		return statement.Range{Unit: "kilograms a litre", Min: 0.2, Max: 5}
	case "reentry_h":
		return statement.Range{Unit: "hours", Max: 10_000}
	case "share":
		return statement.Range{Max: 1e9, Above: true}
	default:
		return statement.Range{Min: -1e9, Max: 1e9}
	}
}

func (p *problems) number(key string, v float64) { p.numberAt(key, key, v) }

func (p *problems) numberAt(path, key string, v float64) {
	r := rangeOf(key)
	if math.IsNaN(v) || v < r.Min || v > r.Max || r.Above && v <= r.Min {
		p.add(path, strconv.FormatFloat(v, 'g', -1, 64), r.String())
	}
}

func (p *problems) whole(key string, v, lo, hi int) {
	if v < lo || v > hi {
		p.add(key, strconv.Itoa(v), fmt.Sprintf("a whole number from %d to %d", lo, hi))
	}
}

func (p *problems) id(key string, id ID, what string) {
	if !id.Valid() {
		p.add(key, orNothing(string(id)), "the id of "+what)
	}
}

// name wants a text of one line that is not empty.
func (p *problems) name(key, s, want string) {
	if strings.TrimSpace(s) == "" {
		p.add(key, orNothing(s), want)
		return
	}
	p.optional(key, s, want)
}

// optional wants a text of one line, or none.
func (p *problems) optional(key, s, want string) {
	switch {
	case len(s) > statement.MaxName:
		p.add(key, fmt.Sprintf("%d bytes", len(s)), fmt.Sprintf("%s of at most %d bytes", want, statement.MaxName))
	case !utf8.ValidString(s) || strings.ContainsFunc(s, unicode.IsControl):
		p.add(key, strconv.QuoteToASCII(s), want+" without control characters")
	}
}

func (p *problems) note(s string) {
	control := func(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\r' && r != '\t' }
	switch {
	case len(s) > statement.MaxNote:
		p.add("note", fmt.Sprintf("%d bytes", len(s)), fmt.Sprintf("a note of at most %d bytes", statement.MaxNote))
	case !utf8.ValidString(s) || strings.ContainsFunc(s, control):
		p.add("note", "control characters", "a note without")
	}
}

// The least and the most of a rate in SI units that is not 0: a gram on a thousand
// square kilometres, and a thousand tonnes on a square metre. Beyond them is a slip
// that would also not be readable as a decimal number.
const (
	minRateSI = 1e-12
	maxRateSI = 1e6
)

func (p *problems) rate(key string, r Rate, dims []controller.Dim, want string) {
	if !slices.Contains(dims, r.Dim) || r.SI != 0 && !(r.SI >= minRateSI && r.SI <= maxRateSI) {
		p.add(key, orNothing(r.String()), want)
	}
}

func orNothing(s string) string {
	if strings.TrimSpace(s) == "" {
		return "nothing"
	}
	return shown(s)
}

// shown is a text as a fault repeats it: on one line, not too long.
func shown(s string) string {
	const most = 60
	for i := range s {
		if i > most {
			s = s[:i] + "…"
			break
		}
	}
	if !utf8.ValidString(s) || strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsPrint(r) }) {
		return strconv.QuoteToASCII(s)
	}
	return s
}
