package statement

import (
	"strconv"
	"strings"

	"drawbar/coverage"

	"github.com/paulmach/orb"
)

// MarkAt says where a mark lies.
type MarkAt uint8

// The places of a mark.
const (
	MarkAtBar      MarkAt = iota // the middle of the bar at that moment
	MarkAtAntenna                // the antenna at that moment
	MarkAtPosition               // LonDeg, LatDeg
)

// Mark is a point of interest left by the operator. LonDeg and LatDeg are WGS
// 84 degrees and hold only for MarkAtPosition.
type Mark struct {
	Kind   string
	Note   string
	LonDeg float64
	LatDeg float64
	At     MarkAt
	// Undo withdraws the mark of this number, from 1 in the order in which they were
	// said in the session; nothing else is then stated. 0: a mark is left.
	Undo int
	// Of is a mark of any session, as SESSION#N, that is settled, or with Done false open
	// again; nothing else is then stated and no mark is left. Empty: a mark is left.
	Of   string
	Done bool
	By   string // beside Of: name or role of who says so, or of the device; empty: not told
}

// maxMarks bounds the number of a mark.
const maxMarks = 1_000_000

func mark(n *Node, at string, faults *Faults) (m Mark, ok bool) {
	before := faults.Len()
	o, isMap := Open(n, at, faults, []string{"kind", "note", "at", "undo", "of", "done", "by"})
	if !isMap {
		return Mark{}, false
	}
	if o.Get("undo") != nil {
		m.Undo, ok = o.Int("undo", 1, maxMarks)
		if ok && len(n.Members) > 1 {
			o.Fault("undo", "other members beside it", "undo alone: the number of the mark to withdraw")
			return Mark{}, false
		}
		return m, ok
	}
	if o.Get("of") != nil || o.Get("done") != nil {
		return o.settled()
	}
	if by := o.Get("by"); by != nil {
		o.Fault("by", value(by), "of and done beside it: who says that a mark is settled")
	}
	const want = "what it is, such as stone"
	if o.Get("kind") == nil {
		o.Missing("kind", want)
	}
	m.Kind, _ = o.Name("kind", want)
	m.Note, _ = o.Note("note", "a note")
	if place := o.Get("at"); place != nil {
		switch {
		case place.isText("bar"):
		case place.isText("antenna"):
			m.At = MarkAtAntenna
		case place.Kind == KindList:
			var p orb.Point
			p, _ = position(place, o.path("at"), faults)
			m.At, m.LonDeg, m.LatDeg = MarkAtPosition, p[0], p[1]
		default:
			o.Fault("at", value(place), "bar, antenna or a position [longitude, latitude]")
		}
	}
	if faults.Len() > before {
		return Mark{}, false
	}
	return m, true
}

// settled reads that a mark of any session is done, or open again.
func (o Object) settled() (m Mark, ok bool) {
	before := o.faults.Len()
	const want = "a mark as SESSION#N, such as 000017-20260514T130510Z#3"
	if o.Get("of") == nil {
		o.Missing("of", want)
	}
	if o.Get("done") == nil {
		o.Missing("done", "true where it is settled, false where it is open again")
	}
	for _, key := range []string{"kind", "note", "at"} {
		if o.Get(key) != nil {
			o.Fault(key, "it beside of", "of and done alone: a mark that is settled leaves no new one")
		}
	}
	m.Of, ok = o.Name("of", want)
	if ok && !markOfSession(m.Of) {
		o.Fault("of", value(o.Get("of")), want)
	}
	m.Done, _ = o.Bool("done")
	m.By, _ = o.Name("by", "who says so")
	if o.faults.Len() > before {
		return Mark{}, false
	}
	return m, true
}

// markOfSession tells whether a text names a mark as SESSION#N.
func markOfSession(s string) bool {
	i := strings.LastIndexByte(s, '#')
	if i < 1 || strings.TrimSpace(s[:i]) == "" {
		return false
	}
	n, err := strconv.Atoi(s[i+1:])
	return err == nil && n >= 1 && n <= maxMarks && strconv.Itoa(n) == s[i+1:]
}

// Weather is what the operator saw, with the mask of its members.
type (
	Weather    = coverage.Weather
	WeatherHas = coverage.WeatherHas
)

// The members of a Weather.
const (
	HasWind        = coverage.HasWind
	HasWindFrom    = coverage.HasWindFrom
	HasTemperature = coverage.HasTemperature
	HasHumidity    = coverage.HasHumidity
)

func weather(n *Node, at string, faults *Faults) (w Weather, ok bool) {
	before := faults.Len()
	keys := []string{"wind_mps", "wind_from_deg", "temperature_c", "humidity_pct"}
	o, isMap := Open(n, at, faults, keys)
	if !isMap {
		return Weather{}, false
	}
	read := func(key string, r Range, to *float64, has WeatherHas) {
		if v, ok := o.Number(key, r); ok {
			*to = v
			w.Has |= has
		}
	}
	// Beyond the records of weather stations, from memory: gust 113 m/s, -89 and 57 degrees.
	read("wind_mps", Range{Unit: "metres a second", Max: 120}, &w.WindMPS, HasWind)
	read("wind_from_deg", Range{Unit: "degrees", Max: 360}, &w.WindFromDeg, HasWindFrom)
	read("temperature_c", Range{Unit: "degrees Celsius", Min: -90, Max: 60}, &w.TemperatureC, HasTemperature)
	read("humidity_pct", Range{Unit: "percent", Max: 100}, &w.HumidityPct, HasHumidity)
	if w.Has == 0 && faults.Len() == before {
		faults.Add(n, at, "nothing", "at least one of wind_mps, wind_from_deg, temperature_c, humidity_pct")
	}
	return w, w.Has != 0
}
