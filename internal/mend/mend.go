package mend

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"drawbar/internal/store"
	"drawbar/replay/statement"
)

// Config is what a Mender needs.
type Config struct {
	Dir string // of the sessions
	// Changed is told of a session once more was said about it; nil: nobody is.
	Changed func(session string)
	// Joined is told once operations were joined or taken apart; nil: nobody is.
	Joined func()
	// CheckJoin tells why operations cannot be joined; nil: nobody knows.
	CheckJoin func(store.Join) error
	Now       func() time.Time // nil: time.Now
}

// Mender corrects the sessions of a folder. Its methods may be called by several
// goroutines; other programs may correct the same sessions at the same time.
type Mender struct {
	c    Config
	wake chan struct{}

	mu     sync.Mutex
	trials []*trial // oldest first
	ended  bool
	before kept // of the worker alone
}

// New makes a Mender. Run works out its trials.
func New(c Config) *Mender {
	if c.Now == nil {
		c.Now = time.Now
	}
	if c.Changed == nil {
		c.Changed = func(string) {}
	}
	if c.Joined == nil {
		c.Joined = func() {}
	}
	return &Mender{c: c, wake: make(chan struct{}, 1)}
}

// ErrNoSession is wrapped where a session is named that was not recorded.
var ErrNoSession = errors.New("no session of that name was recorded")

// Faults are what is wrong with a correction, member by member. Nothing was written.
type Faults []statement.Fault

// Error is the first of them.
func (f Faults) Error() string {
	if len(f) == 0 {
		return "the correction has faults"
	}
	return f[0].Error()
}

// Correct appends a correction to a session, or the taking back of one, and returns its
// number once it is on the disk. body is a JSON object as one line of the file of
// corrections, without made: that is now. by is who makes it where the object does not
// say so. The error wraps ErrNoSession, Faults or store.ErrRefused where it is at fault.
func (m *Mender) Correct(session string, body []byte, by string) (number int, err error) {
	file, line, _, err := m.compose(session, body, by)
	if err != nil {
		return 0, err
	}
	if number, err = store.AddLater(file, line); err != nil {
		return 0, err
	}
	m.c.Changed(session)
	return number, nil
}

// compose is the line that body makes of it.
func (m *Mender) compose(session string, body []byte, by string) (file string, line []byte, said statement.Later, err error) {
	file, ok := store.Find(m.c.Dir, session)
	if !ok {
		return "", nil, said, fmt.Errorf("%w: %q", ErrNoSession, session)
	}
	if said, err = parse(body); err != nil {
		return "", nil, said, err
	}
	var members map[string]json.RawMessage
	if err := json.Unmarshal(body, &members); err != nil {
		return "", nil, said, err // it was read before: no such error
	}
	if said.By == nil && by != "" {
		if members["by"], err = json.Marshal(shorten(by)); err != nil {
			return "", nil, said, err
		}
	}
	if members["made"], err = json.Marshal(m.c.Now().UTC().Truncate(time.Second)); err != nil {
		return "", nil, said, err
	}
	if line, err = json.Marshal(members); err != nil {
		return "", nil, said, err
	}
	said, faults := statement.ParseLater(line)
	if len(faults) > 0 {
		return "", nil, said, Faults(faults)
	}
	return file, line, said, nil
}

// parse reads what a client sent. It must be whole: a correction of which a part does
// not act would not be what the person meant.
func parse(body []byte) (statement.Later, error) {
	said, faults := statement.ParseLater(body)
	if said.Made != nil {
		faults = append(faults, made())
	}
	if len(faults) > 0 {
		return said, Faults(faults)
	}
	return said, nil
}

func made() (f statement.Fault) {
	f.Path, f.Got, f.Want = "made", "a time", "it left out: it is when the recorder writes the correction"
	return f
}

// shorten keeps the name of a device within what an author may have.
func shorten(by string) string {
	return strings.ToValidUTF8(by[:min(len(by), statement.MaxName)], "")
}

// Later is what was said later about a session, each line with its number, and who took
// it back.
func (m *Mender) Later(session string) ([]Said, error) {
	file, ok := store.Find(m.c.Dir, session)
	if !ok {
		return nil, fmt.Errorf("%w: %q", ErrNoSession, session)
	}
	lines, _, err := store.Later(file)
	if err != nil {
		return nil, err
	}
	by := statement.TakenBack(lines)
	out := make([]Said, 0, len(lines))
	for i, l := range lines {
		if l.Correction() || l.Undo != 0 {
			out = append(out, Said{Later: l, Undone: by[i]})
		}
	}
	return out, nil
}

// Said is one line that was said later.
type Said struct {
	statement.Later
	Undone int // number of the line that took it back; 0: it holds
}

// Join makes operations one, or takes a join back, and returns the number of the line
// once it is on the disk.
func (m *Mender) Join(j store.Join) (number int, err error) {
	for _, o := range j.Join {
		if _, ok := store.Find(m.c.Dir, o.Session); !ok {
			return 0, fmt.Errorf("%w: %q", ErrNoSession, o.Session)
		}
	}
	if m.c.CheckJoin != nil && j.Undo == 0 {
		if err := m.c.CheckJoin(j); err != nil {
			return 0, fmt.Errorf("join operations: %w: %w", store.ErrRefused, err)
		}
	}
	j.Made = m.c.Now().UTC().Truncate(time.Second)
	if number, err = store.AddJoin(m.c.Dir, j); err != nil {
		return 0, err
	}
	m.c.Joined()
	return number, nil
}

// Joins are those of the folder.
func (m *Mender) Joins() ([]store.Join, error) {
	lines, _, err := store.Joins(m.c.Dir)
	return lines, err
}
