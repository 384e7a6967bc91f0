package records

import (
	"fmt"
	"time"

	"drawbar/internal/store"
	"drawbar/replay/statement"
)

// Corrected is one line that was said later about a session.
type Corrected struct {
	statement.Later
	TakenBack int // the line that took it back; 0: none
	Acts      bool
}

// Corrections are the lines beside a session, in order, as they are now. faults tells
// of those that say nothing that acts.
func (x *Index) Corrections(session string) (out []Corrected, faults []string, err error) {
	x.mu.Lock()
	e := x.entries[session]
	path := ""
	if e != nil && len(e.files.Parts) > 0 {
		path = e.files.Parts[0].Path
	}
	x.mu.Unlock()
	if path == "" {
		return nil, nil, nil
	}
	lines, faults, err := store.Later(path)
	if err != nil {
		return nil, nil, fmt.Errorf("session %s: %w", session, err)
	}
	for i, by := range statement.TakenBack(lines) {
		out = append(out, Corrected{Later: lines[i], TakenBack: by, Acts: by == 0 && (lines[i].Correction() || lines[i].Undo != 0)})
	}
	return out, faults, nil
}

// Moments are the first and the last moment of a correction, zero for none.
func (c *Corrected) Moments() (from, to time.Time) {
	if c.From == nil || c.To == nil {
		return from, to
	}
	return *c.From, *c.To
}
