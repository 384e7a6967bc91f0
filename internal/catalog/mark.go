package catalog

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"drawbar/replay/statement"
)

// Mark is a place that somebody left a word at, in whichever season: a stone, a wet
// spot, a blocked drain. An archived one was withdrawn.
type Mark struct {
	Meta
	Field     ID     // it is in, "" = none of the catalogue
	FieldName string // of a field that the catalogue does not have; "" = none, or Field
	Kind      string // such as stone
	Note      string
	LonDeg    float64 // WGS 84; with HasPlace
	LatDeg    float64
	HasPlace  bool
	Left      time.Time // UTC
	// Origin is where it was left, "SESSION#N": the Nth mark of that session, which no
	// other mark has; "" = in no session.
	Origin    string
	Done      bool      // settled: the stone is out
	Settled   time.Time // UTC, when it was last said to be done or open again; zero = never
	SettledBy string    // name or role of who said so, or of the device
}

// OriginOf is the origin of the Nth mark, from 1, of a session.
func OriginOf(session string, number int) string { return fmt.Sprintf("%s#%d", session, number) }

// Session is the session that the mark was left in and its number there, "" and 0 for
// none.
func (m *Mark) Session() (name string, number int) {
	name, digits := m.from()
	number, err := strconv.Atoi(digits)
	if err != nil {
		return "", 0
	}
	return name, number
}

// from are the session and the number of an origin, as texts.
func (m *Mark) from() (session, number string) {
	i := strings.LastIndexByte(m.Origin, '#')
	if i < 0 {
		return "", ""
	}
	return m.Origin[:i], m.Origin[i+1:]
}

// check also brings the times to UTC.
func (m *Mark) check() (p problems) {
	m.Left, m.Settled = plainTime(m.Left), plainTime(m.Settled)
	if m.Field != "" {
		p.id("field", m.Field, "the field, or none")
		if m.FieldName != "" {
			p.add("field_name", shown(m.FieldName)+" beside a field", "one of the two")
		}
	}
	p.optional("field_name", m.FieldName, "the name of a field")
	p.name("kind", m.Kind, "what it is, such as stone")
	p.note(m.Note)
	p.optional("settled_by", m.SettledBy, "a name or a role")
	if m.HasPlace {
		p.place(m.LonDeg, m.LatDeg)
	} else if m.LonDeg != 0 || m.LatDeg != 0 {
		p.add("at", "a place that is not known", "nothing, or a place that is")
	}
	p.moment("left", m.Left, true)
	p.moment("settled", m.Settled, m.Done)
	if m.Settled.IsZero() && m.SettledBy != "" {
		p.add("settled_by", shown(m.SettledBy), "nobody, or the time in settled too")
	}
	p.origin(m.Origin)
	return p
}

// plainTime is a time as a file gives it back.
func plainTime(t time.Time) time.Time {
	if t.IsZero() {
		return time.Time{}
	}
	return t.UTC().Round(0)
}

const wantPlace = "WGS 84 degrees, longitude from -180 to 180 before latitude from -90 to 90"

func (p *problems) place(lonDeg, latDeg float64) {
	if !(math.Abs(lonDeg) <= 180 && math.Abs(latDeg) <= 90) { // NaN too
		p.add("at", fmt.Sprintf("[%v, %v]", lonDeg, latDeg), wantPlace)
	}
}

// moment wants a time of those years that a file can say.
func (p *problems) moment(key string, t time.Time, must bool) {
	switch {
	case t.IsZero() && must:
		p.add(key, "nothing", "a time such as 2026-05-14T13:05:10Z")
	case !t.IsZero() && (t.Year() < minYear || t.Year() > maxYear):
		p.add(key, t.Format(time.RFC3339), fmt.Sprintf("a time from %d to %d", minYear, maxYear))
	}
}

// origin wants the name of a session and the number of a mark in it, or nothing.
func (p *problems) origin(s string) {
	if s == "" {
		return
	}
	session, number := (&Mark{Origin: s}).from()
	digits := number != "" && number[0] != '0' && len(number) <= 7 && strings.Trim(number, "0123456789") == ""
	if !digits || session == "" || len(session) > statement.MaxName || !utf8.ValidString(s) || strings.ContainsFunc(session, unicode.IsControl) {
		p.add("origin", shown(s), "a session and the number of a mark in it, such as 000017-20260514T130510Z#3, or nothing")
	}
}
