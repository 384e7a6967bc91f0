package config

import (
	"time"

	"drawbar/controller"
	"drawbar/internal/units"
	"drawbar/nmea"
	"drawbar/replay/statement"
)

// Parse reads a configuration that stands in b; name is for messages. open
// reads a file that the configuration names, as it names it; where it is nil,
// no file may be named. Paths stay as they are written. An error is an *Error.
func Parse(name string, b []byte, open func(path string) ([]byte, error)) (File, error) {
	r := reader{file: Default(), open: open}
	root := tree(b, &r.faults)
	if root != nil && r.faults.Len() == 0 {
		r.root(root)
	}
	var e Error
	e.add(name, &r.faults)
	e.add(r.file.Field.BoundaryFile, &r.outline)
	if len(e.Entries) > 0 {
		return File{}, &e
	}
	return r.file, nil
}

// reader fills a File from a tree.
type reader struct {
	open    func(path string) ([]byte, error)
	faults  statement.Faults // in the configuration
	outline statement.Faults // in its boundary file
	file    File
}

func (r *reader) root(n *statement.Node) {
	if n.Kind == statement.KindNull {
		return // nothing but comments
	}
	o, ok := statement.Open(n, "", &r.faults, []string{
		"units", "timezone", "gnss", "controller", "implement", "tanks", "field", "limits", "server", "data",
	})
	if !ok {
		return
	}
	f := &r.file
	if s, ok := o.Choice("units", units.Metric.String(), units.US.String(), units.Canadian.String()); ok {
		f.Units, _ = units.Parse(s)
	}
	r.timezone(o)
	if n := section(o, "gnss"); n != nil {
		f.HasGNSS = true
		r.gnss(n)
	}
	if n := section(o, "implement"); n != nil {
		if im, ok := statement.Implement(n, "implement", &r.faults); ok {
			f.Implement = &im
		}
	}
	if n := section(o, "tanks"); n != nil {
		f.Tanks = statement.Tanks(n, "tanks", &r.faults)
	}
	// After the implement and the tanks, which say what its lines leave out.
	var line *statement.Node
	if n := section(o, "controller"); n != nil {
		f.HasController = true
		line = r.controller(n)
	}
	r.profile(line)
	if n := section(o, "field"); n != nil {
		r.field(n)
	}
	if n := section(o, "limits"); n != nil {
		f.Limits = statement.Limits(n, "limits", &r.faults, f.Limits)
	}
	if n := section(o, "server"); n != nil {
		r.server(n)
	}
	if s, ok := o.Name("data", "the folder for sessions"); ok {
		f.Data = s
	}
}

// section is the value of key, nil where it is absent or all of it is
// commented out.
func section(o statement.Object, key string) *statement.Node {
	n := o.Get(key)
	if n != nil && n.Kind == statement.KindNull {
		return nil
	}
	return n
}

func (r *reader) timezone(o statement.Object) {
	const want = "a time zone such as Europe/London"
	s, ok := o.Name("timezone", want)
	if !ok {
		return
	}
	zone, err := time.LoadLocation(s)
	if err != nil {
		o.Fault("timezone", s, want)
		return
	}
	r.file.Timezone = zone
}

func (r *reader) gnss(n *statement.Node) {
	o, ok := statement.Open(n, "gnss", &r.faults, []string{"source", "baud", "latency_s", "min_quality"})
	if !ok {
		return
	}
	g := &r.file.GNSS
	g.Source = source(o)
	g.Baud = baud(o)
	number(o, "latency_s", statement.Range{Unit: "seconds", Max: 10}, &g.LatencyS)
	if s, ok := o.Choice("min_quality", "any", "dgps", "float", "rtk"); ok {
		g.MinQuality = minQuality(s)
	}
}

// minQuality is the lowest class of position that a word lets through.
func minQuality(s string) nmea.Quality {
	switch s {
	case "dgps":
		return nmea.QualityDGNSS
	case "float":
		return nmea.QualityFloat
	case "rtk":
		return nmea.QualityRTK
	default:
		return nmea.QualitySimulated
	}
}

func number(o statement.Object, key string, r statement.Range, to *float64) {
	if v, ok := o.Number(key, r); ok {
		*to = v
	}
}

// controller reads the section and gives its line profile, nil where none is
// stated.
func (r *reader) controller(n *statement.Node) *statement.Node {
	o, ok := statement.Open(n, "controller", &r.faults, []string{"source", "baud", "stale_after_s", "report_lag_s", "line"})
	if !ok {
		return nil
	}
	c := &r.file.Controller
	c.Source = source(o)
	c.Baud = baud(o)
	number(o, "stale_after_s", statement.Range{Unit: "seconds", Max: 600, Above: true}, &c.StaleAfterS)
	number(o, "report_lag_s", statement.Range{Unit: "seconds", Max: 60}, &c.ReportLagS)
	if c.Source != "" && c.Source == r.file.GNSS.Source {
		o.Fault("source", "the source of gnss", "one of its own: two readers of a port would each miss lines")
	}
	return section(o, "line")
}

// profile reads the line profile and compiles it with what the rest of the
// file says. n may be nil.
func (r *reader) profile(n *statement.Node) {
	const at = "controller.line"
	spec := controller.ProfileSpec{Kind: defaultKind}
	before := r.faults.Len()
	if n != nil {
		spec = lineSpec(n, at, &r.faults)
	}
	if r.faults.Len() > before {
		return // its faults would follow from those
	}
	p, problems := controller.Compile(spec, statement.Defaults(r.file.Tanks, r.file.Implement))
	for _, problem := range problems {
		where := &statement.Node{}
		if n != nil {
			where = n.Locate(problem.Path)
		}
		path := at
		if problem.Path != "" {
			path += "." + problem.Path
		}
		r.faults.Add(where, path, problem.Got, problem.Want)
	}
	r.file.Controller.Line, r.file.Controller.Profile = spec, p
}

func (r *reader) field(n *statement.Node) {
	o, ok := statement.Open(n, "field", &r.faults, []string{"name", "boundary"})
	if !ok {
		return
	}
	if o.Get("name") == nil {
		o.Missing("name", "the field's name")
	}
	r.file.Field.Name, _ = o.Name("name", "the field's name")
	if section(o, "boundary") == nil {
		return
	}
	path, ok := o.Name("boundary", "the name of a GeoJSON file")
	if !ok {
		return
	}
	r.file.Field.BoundaryFile = path
	if r.open == nil {
		o.Fault("boundary", path, "no file to be named here")
		return
	}
	b, err := r.open(path)
	if err != nil {
		o.Fault("boundary", path, "a GeoJSON file that can be read, its path as seen from the configuration's folder ("+reason(err)+")")
		return
	}
	tree, err := statement.FromJSON(b)
	if err != nil {
		r.outline.Put(asFault(err))
		return
	}
	r.file.Field.Boundary, _ = statement.BoundaryFile(tree, "", &r.outline)
}

func (r *reader) server(n *statement.Node) {
	o, ok := statement.Open(n, "server", &r.faults, []string{"listen"})
	if !ok {
		return
	}
	const want = "an address host:port such as 127.0.0.1:8080"
	s, ok := o.Name("listen", want)
	if !ok {
		return
	}
	if !hostPort(s) {
		o.Fault("listen", s, want)
		return
	}
	r.file.Listen = s
}
