package boundary

import (
	"math"
	"strconv"
	"strings"
)

// A reference system in well-known text (OGC 01-009, section 7; the .prj of a
// Shapefile has its ESRI dialect): KEYWORD["name", part, part ...], where a part
// is a number or again a keyword.

type wktNode struct {
	word  string // keyword in capitals, "" of a number or a text
	text  string // of a text, or of a number its digits
	parts []wktNode
}

// maxWKT and maxWKTDepth bound what a file may make of it.
const (
	maxWKT      = 64 << 10
	maxWKTDepth = 20
)

// parseWKT reads one node; ok is false where the text is none.
func parseWKT(s string) (n wktNode, ok bool) {
	if len(s) > maxWKT {
		return n, false
	}
	rest := strings.TrimSpace(s)
	n, rest, ok = wktPart(rest, 0)
	return n, ok && strings.TrimSpace(rest) == "" && n.word != ""
}

func wktPart(s string, depth int) (n wktNode, rest string, ok bool) {
	s = strings.TrimLeft(s, " \t\r\n")
	if depth > maxWKTDepth || s == "" {
		return n, s, false
	}
	if s[0] == '"' {
		end := strings.IndexByte(s[1:], '"')
		if end < 0 {
			return n, s, false
		}
		n.text = s[1 : 1+end]
		return n, s[2+end:], true
	}
	end := strings.IndexAny(s, "[](), \t\r\n")
	if end < 0 {
		end = len(s)
	}
	word := s[:end]
	s = strings.TrimLeft(s[end:], " \t\r\n")
	if s == "" || s[0] != '[' && s[0] != '(' {
		n.text = word
		return n, s, word != ""
	}
	n.word = strings.ToUpper(word)
	s = s[1:]
	for {
		var part wktNode
		if part, s, ok = wktPart(s, depth+1); !ok {
			return n, s, false
		}
		n.parts = append(n.parts, part)
		s = strings.TrimLeft(s, " \t\r\n")
		if s == "" {
			return n, s, false
		}
		c := s[0]
		s = s[1:]
		switch c {
		case ',':
		case ']', ')':
			return n, s, word != ""
		default:
			return n, s, false
		}
	}
}

// find is the first part with a keyword.
func (n wktNode) find(word string) (wktNode, bool) {
	for _, p := range n.parts {
		if p.word == word {
			return p, true
		}
	}
	return wktNode{}, false
}

// name is the text that comes first, as words in small letters.
func (n wktNode) name() string {
	if len(n.parts) == 0 {
		return ""
	}
	return strings.Join(strings.FieldsFunc(strings.ToLower(n.parts[0].text), func(r rune) bool {
		return r == '_' || r == ' ' || r == '(' || r == ')' || r == '-' || r == '/'
	}), " ")
}

// number is a part as a number, NaN where it is none.
func (n wktNode) number(i int) float64 {
	if i >= len(n.parts) || n.parts[i].word != "" {
		return math.NaN()
	}
	v, err := strconv.ParseFloat(n.parts[i].text, 64)
	if err != nil {
		return math.NaN()
	}
	return v
}

// fromWKT is the system that a text describes; false = not read.
func fromWKT(text string) (system, bool) {
	n, ok := parseWKT(text)
	if !ok {
		return system{}, false
	}
	switch n.word {
	case "GEOGCS":
		d, ok := n.datum()
		return geographic(d), ok
	case "PROJCS":
		return n.projected()
	case "COMPD_CS": // with heights, which are passed over
		for _, p := range n.parts {
			if p.word == "PROJCS" {
				return p.projected()
			}
			if p.word == "GEOGCS" {
				d, ok := p.datum()
				return geographic(d), ok
			}
		}
	}
	return system{}, false
}

// datum is the datum of a GEOGCS in degrees from Greenwich.
func (n wktNode) datum() (datum, bool) {
	d, ok := n.find("DATUM")
	if !ok {
		return datum{}, false
	}
	if prime, ok := n.find("PRIMEM"); ok && prime.number(1) != 0 {
		return datum{}, false
	}
	if unit, ok := n.find("UNIT"); !ok || !near(unit.number(1), math.Pi/180, 1e-9) {
		return datum{}, false
	}
	if _, shifted := d.find("TOWGS84"); shifted && !zeros(d) {
		return datum{}, false
	}
	// The ellipsoid must be that of the datum, or the name lies.
	s, ok := d.find("SPHEROID")
	if !ok || s.number(1) != 6378137 || !near(s.number(2), 298.257223, 3e-6) {
		return datum{}, false
	}
	switch strings.TrimPrefix(d.name(), "d ") {
	case "wgs 1984", "wgs 84", "world geodetic system 1984":
		return wgs84(), true
	case "etrs 1989", "etrs89", "european terrestrial reference system 1989":
		return etrs89(), true
	case "north american 1983", "north american datum 1983", "nad83":
		return nad83(), true
	default:
		return datum{}, false
	}
}

func zeros(d wktNode) bool {
	t, _ := d.find("TOWGS84")
	for i := range t.parts {
		if t.number(i) != 0 {
			return false
		}
	}
	return true
}

func near(v, want, by float64) bool { return math.Abs(v-want) <= by }

// projected is a PROJCS: a zone of UTM, or the map of the web.
func (n wktNode) projected() (system, bool) {
	g, ok := n.find("GEOGCS")
	if !ok {
		return system{}, false
	}
	d, ok := g.datum()
	if !ok {
		return system{}, false
	}
	if unit, ok := n.find("UNIT"); !ok || unit.number(1) != 1 {
		return system{}, false
	}
	projection, ok := n.find("PROJECTION")
	if !ok {
		return system{}, false
	}
	switch projection.name() {
	case "transverse mercator", "gauss kruger":
		return n.zone(d)
	case "mercator auxiliary sphere", "popular visualisation pseudo mercator":
		return webMercator(), d == wgs84() && n.origin()
	case "mercator 1sp":
		// The older writers' Web Mercator, told from the true one by its name.
		return webMercator(), d == wgs84() && n.origin() && n.name() == "wgs 84 pseudo mercator"
	default:
		return system{}, false
	}
}

// origin tells whether a Mercator map has its origin where that of the web has.
func (n wktNode) origin() bool {
	for _, key := range []string{"false_easting", "false_northing", "central_meridian", "standard_parallel_1", "auxiliary_sphere_type"} {
		if v, stated := n.parameter(key); stated && v != 0 {
			return false
		}
	}
	v, stated := n.parameter("scale_factor")
	return !stated || v == 1
}

func (n wktNode) parameter(key string) (float64, bool) {
	for _, p := range n.parts {
		if p.word == "PARAMETER" && len(p.parts) == 2 && strings.EqualFold(p.parts[0].text, key) {
			return p.number(1), true
		}
	}
	return 0, false
}

// zone is the UTM zone that the parameters of a transverse Mercator map are.
func (n wktNode) zone(d datum) (system, bool) {
	value := func(key string) float64 {
		if v, stated := n.parameter(key); stated {
			return v
		}
		return math.NaN()
	}
	lon, north := value("central_meridian"), value("false_northing")
	zone := math.Round((lon + 183) / 6)
	if !(zone >= 1 && zone <= 60) || lon != 6*zone-183 || value("latitude_of_origin") != 0 ||
		!near(value("scale_factor"), 0.9996, 1e-12) || value("false_easting") != 500e3 || north != 0 && north != 10_000e3 {
		return system{}, false
	}
	return utm(d, int(zone), north != 0)
}
