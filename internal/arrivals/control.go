package arrivals

import (
	"fmt"
	"strings"
	"time"

	"drawbar/controller"
	"drawbar/internal/config"
	"drawbar/internal/live"
	"drawbar/internal/probe"
	"drawbar/replay"
	"drawbar/replay/statement"
)

// Trial is what a line profile makes of the controller's latest lines.
type Trial struct {
	Lines    []Line // the latest, newest last
	Reports  int    // lines that were read
	Rejected int    // lines that could not be read
	Faults   []statement.Fault
	YAML     string // to paste into the configuration; empty where the profile has faults
}

// Try reads the controller's lines of the last minute, at most 1,200, by a profile:
// a JSON object with the members of the configuration's controller.line. Nothing
// else changes.
func (l *Log) Try(profile []byte) (t Trial) {
	spec, faults := config.LineSpec(profile)
	if t.Faults = faults.List(); len(t.Faults) > 0 {
		return t
	}
	lines, head, how := l.copied(time.Time{}, replay.StreamController)
	p, problems := controller.Compile(spec, how.defaults)
	for _, problem := range problems {
		t.Faults = append(t.Faults, statement.Fault{Problem: problem})
	}
	if len(t.Faults) > 0 {
		return t
	}
	r := readBy(rule{spec: spec, profile: p}, lines, head)
	return Trial{Lines: r.lines, Reports: r.reports, Rejected: r.rejected, YAML: probe.LineYAML(spec)}
}

// reading is what a profile makes of lines.
type reading struct {
	lines    []Line // the latest
	reports  int
	rejected int
	last     []string // what was said last, of the implement and of each tank
	example  string   // why the last line that was rejected was
}

// readBy reads lines by a profile. head is a line that came before them and may name
// their columns.
func readBy(how rule, lines []line, head []byte) (r reading) {
	d := how.profile.NewDecoder()
	if how.spec.Header && len(head) > 0 {
		_, _ = d.Line(head) // whether it does name them the lines below will tell
	}
	for i, l := range lines {
		report, e := d.Line(l.text)
		out := Line{Time: l.at, OK: true}
		switch {
		case e == nil:
			r.reports++
			r.last = probe.ReportWords(report)
		case e.Reason.Rejected():
			r.rejected++
			r.example = e.Error()
			out.OK, out.Reason = false, r.example
		}
		if i < len(lines)-shownLines {
			continue
		}
		switch {
		case e == nil:
			out.Decoded = strings.Join(probe.ReportWords(report), "; ")
		case e.Reason == controller.ReasonHeader:
			out.Decoded = "names the columns"
		}
		out.Text = probe.Shown(l.text, mostShown)
		if l.cut {
			out.Text += "…"
		}
		r.lines = append(r.lines, out)
	}
	return r
}

// controller says what a rate controller's port carries.
func (s *Source) controller(state *live.SourceState, lines []line, head []byte, how rule) {
	s.Trouble = portTrouble(state)
	r := readBy(how, lines, head)
	s.Lines = r.lines
	switch {
	case len(lines) == 0:
	case r.reports > 0:
		s.Words = append(s.Words, fmt.Sprintf("%s; the line profile (%s) reads %d of %d", perSecond(s.RateHz), kindOf(how.spec), r.reports, len(lines)))
		s.Words = append(s.Words, r.last...)
		if r.rejected > 0 {
			s.Trouble = append(s.Trouble, fmt.Sprintf("%d of %d lines could not be read, the last one because of %s", r.rejected, len(lines), r.example))
		}
	default:
		s.unread(state, lines, r)
	}
}

// unread says what lines are that the profile does not read.
func (s *Source) unread(state *live.SourceState, lines []line, r reading) {
	switch f := probe.Analyse(probed(lines), options(state)); f.Carries {
	case probe.CarriesReceiver:
		s.Words = append(s.Words, "sentences of a GNSS receiver")
		s.Trouble = append(s.Trouble, "this port carries a receiver and not a rate controller: swap gnss.source and controller.source in the configuration")
	case probe.CarriesController:
		s.Words = append(s.Words, perSecond(s.RateHz)+fmt.Sprintf("; a line profile of kind %s would read %d of %d", f.Controller.Kind, f.Controller.Reports, f.Lines))
		s.Trouble = append(s.Trouble, "the configured line profile reads none of the lines ("+r.example+"): try another one on them, then put it into the configuration")
	case probe.CarriesText:
		s.Words = append(s.Words, perSecond(s.RateHz)+" of text that no line profile at hand reads")
		s.Trouble = append(s.Trouble, "the configured line profile reads none of the lines ("+r.example+"): compare them with the controller's manual and try another profile")
	default:
		s.Words = append(s.Words, "bytes that are no text")
		s.Trouble = append(s.Trouble, f.Wrong()...)
	}
}

func kindOf(spec controller.ProfileSpec) string {
	if spec.Kind == "" {
		return "keyvalue"
	}
	return spec.Kind
}
