package config

import (
	"fmt"
	"io/fs"
	"strings"
	"time"

	"drawbar/controller"
	"drawbar/internal/boundary"
	"drawbar/internal/units"
	"drawbar/internal/yamltree"
	"drawbar/nmea"
	"drawbar/replay/statement"
)

// Parse reads a configuration that stands in b; name is for messages. open
// reads a file that the configuration names, as it names it, and gives the error
// boundary.Folder for a folder; where it is nil, no file may be named. Paths stay
// as they are written. An error is an *Error.
func Parse(name string, b []byte, open boundary.Open) (File, error) {
	return parseWith(name, b, reader{file: Default(), open: open})
}

// ParseRecorded reads a configuration as a recording holds it, with the field's
// outline, the text of File.Outline. The other fields are not recorded: their
// file is not looked for.
func ParseRecorded(name string, b []byte, outline string) (File, error) {
	return parseWith(name, b, reader{file: Default(), recorded: true, open: func(string) ([]byte, error) {
		if outline == "" {
			return nil, fs.ErrNotExist
		}
		return []byte(outline), nil
	}})
}

func parseWith(name string, b []byte, r reader) (File, error) {
	root := yamltree.Read(string(b), bounds(), &r.faults)
	if root != nil && r.faults.Len() == 0 {
		r.root(root)
	}
	var e Error
	e.add(name, &r.faults)
	e.Entries = append(e.Entries, r.outlines.Entries...)
	e.More += r.outlines.More
	if len(e.Entries) > 0 {
		return File{}, &e
	}
	return r.file, nil
}

// maxBytes bounds a configuration.
const maxBytes = 256 << 10

// bounds are those of a configuration; a real one has some hundred values.
func bounds() yamltree.Bounds {
	return yamltree.Bounds{Bytes: maxBytes, Tokens: 20_000, Keys: 20_000, What: "a configuration", Like: "units: metric"}
}

// reader fills a File from a tree.
type reader struct {
	open     boundary.Open
	recorded bool             // there are no files but the field's outline
	faults   statement.Faults // in the configuration
	outlines Error            // in its boundary files
	file     File
}

func (r *reader) root(n *statement.Node) {
	if n.Kind == statement.KindNull {
		return // nothing but comments
	}
	o, ok := statement.Open(n, "", &r.faults, []string{
		"units", "timezone", "gnss", "controller", "implement", "tanks", "field", "fields", "limits", "server", "data",
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
	if section(o, "fields") != nil {
		r.fields(o)
	}
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

func (r *reader) server(n *statement.Node) {
	o, ok := statement.Open(n, "server", &r.faults, []string{"listen", "hosts"})
	if !ok {
		return
	}
	const want = "an address host:port such as 127.0.0.1:8080"
	if s, ok := o.Name("listen", want); ok && !hostPort(s) {
		o.Fault("listen", s, want)
	} else if ok {
		r.file.Listen = s
	}
	r.hosts(o)
}

// hosts reads the names by which other devices reach the board.
func (r *reader) hosts(o statement.Object) {
	const want = "a list of names without port, such as [board.farm.example]"
	items, ok := o.List("hosts", want)
	if !ok {
		return
	}
	for i, item := range items {
		if item.Kind != statement.KindText || !hostName(item.Text) {
			r.faults.Add(&items[i], fmt.Sprintf("%s[%d]", o.Path("hosts"), i), item.Text, want)
			continue
		}
		r.file.Hosts = append(r.file.Hosts, item.Text)
	}
}

// hostName tells whether a text can be the name or address of a host.
func hostName(s string) bool {
	return s != "" && len(s) <= 253 && !strings.ContainsAny(s, "/: @\t\"")
}
