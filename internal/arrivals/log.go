package arrivals

import (
	"slices"
	"sync"
	"time"

	"drawbar/controller"
	"drawbar/internal/config"
	"drawbar/internal/live"
	"drawbar/replay"
	"drawbar/replay/statement"
)

// Log keeps the latest lines of the receiver and of the controller. All methods
// may be called from any goroutine.
type Log struct {
	mu      sync.Mutex
	streams [2]ring // by replay.Stream
	heading heading // of the controller's lines
	rule    rule
}

// rule is how the controller's lines are read.
type rule struct {
	spec     controller.ProfileSpec
	profile  *controller.Profile
	defaults controller.Defaults
}

// New keeps nothing yet. f is the configuration that is in force.
func New(f *config.File) *Log {
	l := &Log{}
	l.Configure(f)
	return l
}

// Configure changes the configuration that is in force.
func (l *Log) Configure(f *config.File) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.rule = rule{f.Controller.Line, f.Controller.Profile, statement.Defaults(f.Tanks, f.Implement)}
}

// Take keeps a line. It copies, decodes nothing and allocates nothing after the
// first line of a stream. What the operator said is not kept.
func (l *Log) Take(e replay.Event) {
	if int(e.Stream) >= len(l.streams) {
		return
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.streams[e.Stream].add(e.At, e.Line)
	if e.Stream == replay.StreamController {
		l.heading.take(e.At, e.Line)
	}
}

// Clear forgets everything, as where a replay goes back.
func (l *Log) Clear() {
	l.mu.Lock()
	defer l.mu.Unlock()
	for i := range l.streams {
		l.streams[i].count = 0
	}
	l.heading.text = l.heading.text[:0]
}

// copied is what is kept of a stream; a zero now is the arrival of the latest line.
func (l *Log) copied(now time.Time, stream replay.Stream) (lines []line, head []byte, how rule) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if now.IsZero() {
		now = l.streams[stream].latest()
	}
	lines = l.streams[stream].copied(now)
	if len(lines) > 0 && l.heading.at.Before(lines[0].at) {
		head = slices.Clone(l.heading.text)
	}
	return lines, head, l.rule
}

// heading is the latest line of the controller that may name columns: it comes once,
// and the lines below it are read by it for hours.
type heading struct {
	at   time.Time
	text []byte
}

// take keeps a line in which no column begins like a number.
func (h *heading) take(at time.Time, line []byte) {
	if len(line) == 0 || len(line) > mostLine {
		return
	}
	begins := true
	for _, c := range line {
		switch c {
		case ',', ';', '\t', '|', ' ':
			begins = true
			continue
		case '=', '*':
			return
		}
		if begins && (c >= '0' && c <= '9' || c == '-' || c == '+' || c == '.') {
			return
		}
		begins = false
	}
	h.at, h.text = at, append(h.text[:0], line...)
}

// Source is what arrived on a port.
type Source struct {
	Name, Stream, Address string
	Up                    bool
	RateHz                *float64 // lines a second; nil: not known
	AgeS                  *float64 // of the latest line, seconds; nil: none came
	Words                 []string // what comes, for people
	Trouble               []string // what is wrong and what to do; empty: nothing
	Lines                 []Line   // the latest, newest last
}

// Line is one line as it arrived and what was made of it.
type Line struct {
	Time    time.Time // of arrival, session clock
	Text    string    // bytes that are no text as \xHH
	Decoded string    // in words; empty: it says nothing that is used
	OK      bool      // it was read, or is in order
	Reason  string    // why not; empty if OK
}

// shownLines is how many lines of a stream are shown.
const shownLines = 50

// Sources is what arrived lately on the ports that are in the states. now is of the
// session's clock.
func (l *Log) Sources(now time.Time, states []live.SourceState) []Source {
	out := make([]Source, 0, len(states))
	for i := range states {
		state := &states[i]
		stream := replay.StreamGNSS
		if state.Stream == replay.StreamController.String() {
			stream = replay.StreamController
		}
		lines, head, how := l.copied(now, stream)
		s := Source{Name: state.Name, Stream: state.Stream, Address: state.Address, Up: state.Up}
		s.RateHz, s.AgeS = pace(now, lines)
		if stream == replay.StreamGNSS {
			s.receiver(state, lines)
		} else {
			s.controller(state, lines, head, how)
		}
		s.silent()
		out = append(out, s)
	}
	return out
}

// paceFor is the time over which lines are counted for their rate.
const paceFor = 10 * time.Second

// pace is how many lines come a second, and how old the latest is.
func pace(now time.Time, lines []line) (rateHz, ageS *float64) {
	if len(lines) == 0 {
		return nil, nil
	}
	last := lines[len(lines)-1].at
	age := max(0, now.Sub(last)).Seconds()
	first := slices.IndexFunc(lines, func(l line) bool { return last.Sub(l.at) < paceFor })
	rate := 0.0
	switch over := last.Sub(lines[first].at).Seconds(); {
	case age > paceFor.Seconds():
	case over > 0:
		rate = float64(len(lines)-1-first) / over
	default:
		return nil, &age
	}
	return &rate, &age
}
