package controller

import (
	"fmt"
	"math"
	"regexp"
	"regexp/syntax"
	"strconv"
	"strings"
)

// maxPattern and maxColumns bound what a profile may ask for.
const (
	maxPattern = 4096 // bytes
	maxColumns = 1024
)

// Compile checks a profile and makes it ready for use. It finds every fault at
// once; each Problem has its path within the spec ("columns[1].unit") and says
// what to write instead. With problems there is no Profile.
func Compile(spec ProfileSpec, defaults Defaults) (*Profile, []Problem) {
	c := compiler{p: &Profile{defaults: defaults}, spec: spec}
	c.units()
	switch spec.Kind {
	case "", "keyvalue":
		c.keyValue()
	case "delimited":
		c.p.kind = kindDelimited
		c.delimited()
	case "pattern":
		c.p.kind = kindPattern
		c.patterned()
	default:
		c.problem("kind", spec.Kind, "keyvalue, delimited or pattern")
	}
	if len(c.problems) > 0 {
		return nil, c.problems
	}
	return c.p, nil
}

type compiler struct {
	p        *Profile
	spec     ProfileSpec
	problems []Problem
}

func (c *compiler) problem(path, got, want string) {
	if got == "" {
		got = "nothing"
	}
	c.problems = append(c.problems, Problem{Path: path, Got: shorten([]byte(got)), Want: want})
}

// units reads the profile's units of values that name none.
func (c *compiler) units() {
	u := c.spec.Units
	for _, s := range [...]struct {
		f    field
		name string
		text string
	}{
		{fieldSpeed, "units.speed", u.Speed},
		{fieldRate, "units.rate", u.Rate},
		{fieldFlow, "units.flow", u.Flow},
		{fieldTotal, "units.total", u.Total},
		{fieldLevel, "units.level", u.Level},
	} {
		if s.text == "" {
			continue
		}
		for _, name := range strings.Split(s.text, ",") {
			unit, err := ParseUnit(name)
			if err != nil || !s.f.fits(unit.Dim) {
				c.problem(s.name, name, s.f.wantUnit())
				continue
			}
			c.p.units[s.f] = append(c.p.units[s.f], unit)
		}
	}
	c.p.units[fieldTarget] = c.p.units[fieldRate]
}

// unused reports members that the kind does not read, rather than pass over
// what somebody meant to say.
func (c *compiler) unused(path string, set bool, got, want string) {
	if set {
		c.problem(path, got, want)
	}
}

func (c *compiler) keyValue() {
	s := c.spec
	c.unused("separator", s.Separator != "", s.Separator, "kind: delimited, or no separator: key=value pairs are separated by blanks, commas or semicolons")
	c.unused("header", s.Header, "true", "kind: delimited, or no header: key=value lines have none")
	c.unused("pattern", s.Pattern != "", s.Pattern, "kind: pattern, or no pattern")
	c.unused("columns", len(s.Columns) > 0, fmt.Sprintf("%d columns", len(s.Columns)), "kind: delimited or pattern, or no columns: the keys say what each value is")
	sum, ok := checksumNamed(s.Checksum)
	if !ok || sum != checksumNone && sum != checksumXOR8 {
		c.problem("checksum", s.Checksum, "none (checked where a line has one) or xor8 (every line must have one)")
	}
	c.p.sum = sum
}

func (c *compiler) checksum() {
	sum, ok := checksumNamed(c.spec.Checksum)
	if !ok {
		c.problem("checksum", c.spec.Checksum, "none, xor8, sum8 or crc16-ccitt")
	}
	c.p.sum = sum
}

func (c *compiler) delimited() {
	c.unused("pattern", c.spec.Pattern != "", c.spec.Pattern, "kind: pattern, or no pattern")
	c.checksum()
	c.separator()
	c.p.header = c.spec.Header
	c.columns(func(path, name string) (place, bool) {
		if n, err := strconv.Atoi(name); err == nil {
			if n < 1 || n > maxColumns {
				c.problem(path, name, fmt.Sprintf("a column number from 1 to %d, or a header name", maxColumns))
				return place{}, false
			}
			return place{index: n - 1, name: "column " + name}, true
		}
		if name != strings.TrimSpace(name) || name == "" {
			c.problem(path, strconv.Quote(name), "a column number from 1, or a header name without blanks around it")
			return place{}, false
		}
		if !c.spec.Header {
			c.problem(path, name, "a column number from 1; a header name needs header: true")
			return place{}, false
		}
		c.p.named = true
		return place{index: -1, name: name}, true
	})
}

func (c *compiler) separator() {
	s := c.spec.Separator
	switch {
	case s == "":
		c.p.separator = ','
	case s == "space":
		c.p.runs = true
	case len(s) != 1 || s[0] < ' ' && s[0] != '\t' || s[0] > '~':
		c.problem("separator", strconv.Quote(s), `one ASCII character such as "," or ";", "\t" for a tab, or "space" for runs of blanks`)
	case isDigit(s[0]) || strings.ContainsAny(s, "+-.*") || startsUnit([]byte(s)):
		c.problem("separator", strconv.Quote(s), "a character that is not part of a number, a unit or a checksum")
	default:
		c.p.separator = s[0]
	}
}

func (c *compiler) patterned() {
	s := c.spec
	c.unused("separator", s.Separator != "", s.Separator, "kind: delimited, or no separator")
	c.unused("header", s.Header, "true", "kind: delimited, or no header")
	c.checksum()
	re, err := compilePattern(s.Pattern)
	if err != "" {
		c.problem("pattern", s.Pattern, err)
	}
	c.p.pattern = re
	c.columns(func(path, name string) (place, bool) {
		if re == nil {
			return place{}, false // the pattern's own problem is enough
		}
		at := -1
		for i, group := range re.SubexpNames() {
			if group == name && name != "" {
				at = i
			}
		}
		if at < 0 {
			c.problem(path, name, "the name of a group in the pattern, written (?P<name>…); it has "+groupNames(re))
			return place{}, false
		}
		return place{index: at, name: name}, true
	})
}

// compilePattern returns what is wrong with the pattern, in RE2's words.
func compilePattern(pattern string) (*regexp.Regexp, string) {
	const example = ` such as '^R(?P<id>\d+),(?P<rate>[\d.]+)$'`
	if pattern == "" {
		return nil, "an RE2 expression with named groups," + example
	}
	if len(pattern) > maxPattern {
		return nil, fmt.Sprintf("at most %d bytes", maxPattern)
	}
	re, err := regexp.Compile(pattern)
	if e, ok := err.(*syntax.Error); ok {
		return nil, fmt.Sprintf("an RE2 expression,%s; %s: `%s`", example, e.Code, e.Expr)
	} else if err != nil {
		return nil, err.Error()
	}
	return re, ""
}

func groupNames(re *regexp.Regexp) string {
	var names []string
	for _, n := range re.SubexpNames() {
		if n != "" {
			names = append(names, n)
		}
	}
	if len(names) == 0 {
		return "no named group"
	}
	return strings.Join(names, ", ")
}

// finite tells whether v can be counted with.
func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
