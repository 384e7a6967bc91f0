package arrivals

import (
	"sync"
	"time"

	"drawbar/controller"
	"drawbar/internal/config"
	"drawbar/replay"
	"drawbar/replay/statement"
)

// Log keeps the latest lines of the receiver and of the controller. All methods
// may be called from any goroutine.
type Log struct {
	mu       sync.Mutex
	streams  [2]ring // by replay.Stream
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
	l.spec, l.profile, l.defaults = f.Controller.Line, f.Controller.Profile, statement.Defaults(f.Tanks, f.Implement)
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

// Trial is what a line profile makes of the latest lines.
type Trial struct {
	Lines    []Line
	Reports  int // lines that were read
	Rejected int // lines that could not be read
	Faults   []statement.Fault
	YAML     string // to paste into the configuration; empty where the profile has faults
}
