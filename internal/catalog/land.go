package catalog

import (
	"fmt"
	"strings"
	"time"

	"drawbar/controller"
	"drawbar/internal/boundary"
	"drawbar/replay/statement"

	"github.com/paulmach/orb"
)

// Field is a field. Its name is its own among the fields that are not archived.
type Field struct {
	Meta
	Name    string
	Note    string
	Outline orb.MultiPolygon // WGS 84 degrees, longitude before latitude; nil = not known
	AreaM2  float64          // of the outline, on the ellipsoid; 0 without one; worked out, never taken
}

// Season is a crop on a field. It has a year, or a first day with or without a last.
type Season struct {
	Meta
	Field       ID
	Crop        string
	CropCode    string // of EPPO, five or six capitals and digits such as AVESA; "" = not stated
	Year        int    // 0 = by dates
	Start       Date   // "" = by year
	End         Date   // "" = not known yet, or by year
	TargetYield Rate   // a mass or volume per area; not stated = none
	Note        string
}

// Date is a day of the calendar, as 2026-03-01; "" = none.
type Date string

// Valid tells whether there is such a day.
func (d Date) Valid() bool {
	t, err := time.Parse(time.DateOnly, string(d))
	return err == nil && t.Year() >= minYear && t.Year() <= maxYear
}

// The years that a season may have.
const (
	minYear = 1900
	maxYear = 2200
)

// When is the season in words: 2026, or 2025-09-20 to 2026-08-10.
func (s Season) When() string {
	switch {
	case s.Start == "":
		return fmt.Sprint(s.Year)
	case s.End == "":
		return "from " + string(s.Start)
	default:
		return string(s.Start) + " to " + string(s.End)
	}
}

// check also closes the outline's rings and works out the area.
func (f *Field) check() (p problems) {
	p.name("name", f.Name, "the field's name")
	p.note(f.Note)
	f.AreaM2 = 0
	if len(f.Outline) == 0 {
		f.Outline = nil
		return p
	}
	var faults statement.Faults
	outline, ok := statement.Outline(f.Outline, "boundary", &faults)
	for _, fault := range faults.List() {
		p = append(p, fault.Problem)
	}
	if !ok {
		return p
	}
	f.Outline = outline
	if f.AreaM2, ok = boundary.AreaM2(outline); !ok {
		p.add("boundary", "an outline without an area, or more than 300 km across", "the outline of one field")
	}
	return p
}

func (s *Season) check() (p problems) {
	p.id("field", s.Field, "the field")
	p.name("crop", s.Crop, "the crop")
	if s.CropCode != "" && !cropCode(s.CropCode) {
		p.add("crop_code", shown(s.CropCode), wantCropCode)
	}
	p.note(s.Note)
	switch {
	case s.Start == "" && s.End == "":
		p.whole("year", s.Year, minYear, maxYear)
	case s.Year != 0:
		p.add("year", fmt.Sprint(s.Year)+" beside dates", "a year, or start and end, not both")
	case !s.Start.Valid():
		p.add("start", orNothing(string(s.Start)), "the first day, as 2026-03-01")
	case s.End != "" && !s.End.Valid():
		p.add("end", orNothing(string(s.End)), "the last day, as 2026-08-31")
	case s.End != "" && s.End < s.Start:
		p.add("end", string(s.End), "a day that is not before "+string(s.Start))
	}
	if y := s.TargetYield; y.Stated() {
		p.rate("target_yield", y, []controller.Dim{controller.DimMassPerArea, controller.DimVolumePerArea}, "a mass or a volume per area, such as 6.5 t/ha")
	}
	return p
}

const wantCropCode = "the EPPO code of the crop, five or six capitals and digits such as AVESA"

// cropCode tells whether a text has the form of an EPPO code: five characters of a
// plant, six of an animal or a disease. Which codes there are is not checked.
func cropCode(s string) bool {
	return (len(s) == 5 || len(s) == 6) && strings.Trim(s, "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789") == ""
}
