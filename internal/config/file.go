package config

import (
	"time"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/boundary"
	"drawbar/internal/units"
	"drawbar/nmea"

	"github.com/paulmach/orb"
)

// File is a configuration: what the file states, and the defaults for what it
// does not.
type File struct {
	Units      units.System   // how numbers are shown
	Timezone   *time.Location // how times are shown
	GNSS       GNSS
	Controller Controller
	Implement  *coverage.Implement // nil = not stated
	Tanks      []coverage.Tank     // in ascending order of number
	Field      Field
	Fields     Fields
	Limits     coverage.Limits
	Listen     string   // host:port of the server
	Hosts      []string // further names by which other devices reach it
	// Data is the folder of sessions and catalog. A relative path in the file
	// is relative to the file's own folder.
	Data string

	// Dir is the file's folder as seen from the working folder, "" if the
	// configuration came from no file.
	Dir string

	HasGNSS       bool // the file has a section gnss
	HasController bool // the file has a section controller
}

// GNSS is the receiver.
type GNSS struct {
	Source     string       // path of a serial port, tcp://host:port or udp://[host]:port; "" = none
	Baud       int          // 0 = find out
	LatencyS   float64      // from the epoch to the arrival of its first sentence
	MinQuality nmea.Quality // below it nothing is painted
}

// Controller is the rate controller.
type Controller struct {
	Source      string // as GNSS.Source
	Baud        int    // 0 = find out
	StaleAfterS float64
	ReportLagS  float64 // a report describes the meter this long before it arrived
	Line        controller.ProfileSpec
	Profile     *controller.Profile // Line compiled; never nil in a loaded File
}

// Field is the field of the start.
type Field struct {
	Name         string // "" = not stated
	BoundaryFile string // as written in the file; "" = none
	Boundary     orb.MultiPolygon
	Warnings     []string // what a person should know of the boundary
}

// Fields are the fields that the machine may come to.
type Fields struct {
	From     string           // a file or a folder of files, as written in the file; "" = none
	NameFrom string           // attribute that holds their names; "" = the usual ones
	Known    []boundary.Field // each with a name of its own
}

// Default is what an empty file means.
func Default() File {
	return File{
		Units:      units.Metric,
		Timezone:   time.UTC,
		GNSS:       GNSS{MinQuality: nmea.QualitySimulated},
		Controller: Controller{StaleAfterS: 2, Line: controller.ProfileSpec{Kind: defaultKind}, Profile: defaultProfile()},
		Limits:     coverage.DefaultLimits(),
		Listen:     "127.0.0.1:8080",
		Data:       "data",
	}
}

// defaultKind of line needs no description.
const defaultKind = "keyvalue"

// defaultProfile is the keyvalue profile, which has nothing that could be wrong.
func defaultProfile() *controller.Profile {
	p, _ := controller.Compile(controller.ProfileSpec{Kind: defaultKind}, controller.Defaults{})
	return p
}
