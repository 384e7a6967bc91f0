package mend

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"reflect"
	"slices"

	"drawbar/internal/recorded"
	"drawbar/internal/store"
	"drawbar/replay"
	"drawbar/replay/statement"
)

// Bounds of the trials: each costs two replays of a session.
const (
	mostWaiting = 4  // that were not worked out yet
	mostTrials  = 16 // that are remembered
)

// ErrBusy is wrapped where as many trials as can be wait to be worked out.
var ErrBusy = errors.New("as many trials as can be are being worked out")

// Stage is how far a trial is.
type Stage uint8

// The stages of a trial.
const (
	Working Stage = iota
	Done
	Failed
)

// Trial is what a correction would change. Before and After are set once it is Done,
// and must not be changed.
type Trial struct {
	Session       string
	Later         statement.Later
	Stage         Stage
	Share         float64 // worked out so far, 0 to 1
	Before, After []replay.OperationRecord
	Err           error // why it failed
}

type trial struct {
	Trial
	id, file string
}

// Try begins to work out what a correction, or the taking back of one, would change,
// and returns the name of the trial. body is as for Correct. Trial tells how it stands.
func (m *Mender) Try(session string, body []byte) (id string, err error) {
	file, _, said, err := m.compose(session, body, "")
	if err != nil {
		return "", err
	}
	lines, _, err := store.Later(file)
	if err != nil {
		return "", err
	}
	if err := store.CheckUndo(lines, said.Undo); err != nil {
		return "", err
	}
	var name [8]byte
	_, _ = rand.Read(name[:]) // never fails: it ends the program instead
	t := &trial{id: hex.EncodeToString(name[:]), file: file, Trial: Trial{Session: session, Later: said}}
	m.mu.Lock()
	defer m.mu.Unlock()
	waiting := 0
	for _, t := range m.trials {
		if t.Stage == Working {
			waiting++
		}
	}
	if waiting >= mostWaiting || m.ended {
		return "", ErrBusy
	}
	if len(m.trials) >= mostTrials { // one of those that are done is forgotten, the oldest first
		i := slices.IndexFunc(m.trials, func(t *trial) bool { return t.Stage != Working })
		m.trials = slices.Delete(m.trials, i, i+1)
	}
	m.trials = append(m.trials, t)
	select {
	case m.wake <- struct{}{}:
	default:
	}
	return t.id, nil
}

// Trial tells how a trial stands; ok is false where it is not known, or no more.
func (m *Mender) Trial(id string) (Trial, bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, t := range m.trials {
		if t.id == id {
			return t.Trial, true
		}
	}
	return Trial{}, false
}

// Run works out trials, one after the other, until ctx ends.
func (m *Mender) Run(ctx context.Context) {
	defer m.end()
	for {
		t := m.next()
		if t == nil {
			select {
			case <-m.wake:
				continue
			case <-ctx.Done():
				return
			}
		}
		before, after, err := m.work(ctx, t)
		if ctx.Err() != nil {
			return
		}
		m.mu.Lock()
		t.Before, t.After, t.Share, t.Stage = before, after, 1, Done
		if err != nil {
			t.Stage, t.Err = Failed, err
		}
		m.mu.Unlock()
	}
}

// end has what waits fail: nobody works it out any more.
func (m *Mender) end() {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.ended = true
	for _, t := range m.trials {
		if t.Stage == Working {
			t.Stage, t.Err = Failed, errors.New("the recorder is stopping")
		}
	}
}

func (m *Mender) next() *trial {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, t := range m.trials {
		if t.Stage == Working {
			return t
		}
	}
	return nil
}

// kept are the figures of a session as it stands, so that several trials on it cost a
// replay less.
type kept struct {
	of      string
	figures []replay.OperationRecord
}

// work replays the session as it stands and as it would be.
func (m *Mender) work(ctx context.Context, t *trial) (before, after []replay.OperationRecord, err error) {
	of, err := standing(t.file)
	if err != nil {
		return nil, nil, err
	}
	from := 0.0
	if m.before.of != of {
		figures, err := m.replay(ctx, t, nil, 0, 0.5)
		if err != nil {
			return nil, nil, err
		}
		m.before, from = kept{of, figures}, 0.5
	}
	after, err = m.replay(ctx, t, []statement.Later{t.Later}, from, 1)
	return m.before.figures, after, err
}

// standing names a session as it stands: its files and what was said later, by their
// sizes and when they were written.
func standing(file string) (string, error) {
	parts, err := store.Parts(file)
	if err != nil {
		return "", err
	}
	out := ""
	for _, path := range append(parts, store.CorrectionsFile(file)) {
		info, err := os.Stat(path)
		if errors.Is(err, os.ErrNotExist) {
			continue
		}
		if err != nil {
			return "", err
		}
		out += fmt.Sprintf("%s %d %d\n", path, info.Size(), info.ModTime().UnixNano())
	}
	return out, nil
}

// replay works out the records of the session with more said about it, and tells the
// trial how far it is, from one share to another.
func (m *Mender) replay(ctx context.Context, t *trial, more []statement.Later, from, to float64) ([]replay.OperationRecord, error) {
	var size, read int64
	o := recorded.Options{Later: more, Size: func(n int64) { size += n }, Read: func(n int) { read += int64(n) }}
	in, err := recorded.Open([]string{t.file}, o)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	_, setup, err := in.Setup(nil)
	if err != nil {
		return nil, err
	}
	const often = 4096 // lines between two looks at ctx
	session, err := in.Replay(setup, often, func() error {
		m.mu.Lock()
		t.Share = from + (to-from)*min(float64(read)/float64(max(size, 1)), 1)
		m.mu.Unlock()
		return ctx.Err()
	})
	if err != nil {
		return nil, err
	}
	return session.Records(), nil
}

// Changes tells whether some figure becomes another.
func (t Trial) Changes() bool { return !reflect.DeepEqual(t.Before, t.After) }
