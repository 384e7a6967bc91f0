package handover

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"
)

// Format is a format of files.
type Format uint8

// The formats.
const (
	GPX Format = iota
	KML
	GeoJSON
	formats
)

// Ending is the end of a file's name, as ".gpx".
func (f Format) Ending() string { return [...]string{".gpx", ".kml", ".geojson"}[min(f, formats-1)] }

// MediaType is what a file is sent as.
func (f Format) MediaType() string {
	return [...]string{"application/gpx+xml", "application/vnd.google-earth.kml+xml", "application/geo+json"}[min(f, formats-1)]
}

// FormatOf is the format that a file's name ends in, whatever the case of it.
func FormatOf(name string) (Format, bool) {
	for f := range formats {
		if strings.HasSuffix(strings.ToLower(name), f.Ending()) {
			return f, true
		}
	}
	return 0, false
}

// Place is one place to hand over.
type Place struct {
	Name   string // short
	Kind   string
	Note   string // may have several lines
	Field  string // "" = not known
	LonDeg float64
	LatDeg float64
	Left   time.Time
	Done   bool
}

// Write writes places under a title.
func Write(w io.Writer, f Format, title string, places []Place) error {
	b := bufio.NewWriter(w)
	switch f {
	case GPX:
		writeGPX(b, title, places)
	case KML:
		writeKML(b, title, places)
	case GeoJSON:
		if err := writeGeoJSON(b, places); err != nil {
			return err
		}
	default:
		return fmt.Errorf("write places: no format %d", f)
	}
	return b.Flush()
}

// degrees is an angle to a hundred-millionth of a degree, 1.1 mm of latitude.
func degrees(v float64) string {
	s := strings.TrimRight(strings.TrimRight(strconv.FormatFloat(v, 'f', 8, 64), "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

// longitude is one from -180, which counts, to 180, which does not: GPX 1.1 has no
// 180 (longitudeType of its schema).
func longitude(v float64) string {
	if s := degrees(math.Remainder(v, 360)); s != "180" {
		return s
	}
	return "-180"
}

func moment(t time.Time) string { return t.UTC().Format("2006-01-02T15:04:05Z") }

func state(done bool) string {
	if done {
		return "done"
	}
	return "open"
}
