package marks

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"drawbar/internal/catalog"
	"drawbar/internal/recorded"
	"drawbar/internal/store"
	"drawbar/replay"
	"drawbar/replay/statement"
)

// Reconcile brings in what recorded sessions say of marks and the catalogue lacks: of
// sessions that ended without the last word of their Keeper, that came from elsewhere,
// or that have other corrections than when they were looked at. It gives the core
// as much of the time as it takes. It returns when all were looked at or ctx ends.
func (k *Keeper) Reconcile(ctx context.Context) {
	names, err := store.Names(k.c.Dir)
	if err != nil {
		k.c.Log.Warn("marks of earlier sessions were not looked for", "error", err)
		return
	}
	for _, name := range names {
		if ctx.Err() != nil {
			return
		}
		if name == k.c.Session {
			continue
		}
		began := time.Now()
		looked, err := k.Look(ctx, name)
		if err != nil && ctx.Err() == nil {
			k.c.Log.Warn("a session's marks could not be looked at; it is tried again at the next start", "session", name, "error", err)
		}
		if looked {
			pause(ctx, time.Since(began))
		}
	}
	if ctx.Err() == nil {
		k.behind.Store(false)
	}
}

func pause(ctx context.Context, d time.Duration) {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
	case <-t.C:
	}
}

// Look brings in what one recorded session says of marks, unless that was done since
// its last correction. looked tells whether it was read.
func (k *Keeper) Look(ctx context.Context, session string) (looked bool, err error) {
	corrections := correctionBytes(k.c.Dir, session)
	kept, err := k.c.Catalog.MarksKept(ctx, session, corrections)
	if err != nil || kept {
		return false, err
	}
	said, settled, err := scan(ctx, k.c.Dir, session)
	if err != nil {
		return true, err
	}
	of := catalog.SessionMarks{Session: session, Settled: settled, Whole: true, Corrections: corrections}
	if said {
		if of.Marks, err = k.replayed(ctx, session); err != nil {
			return true, err
		}
	}
	did, err := k.c.Catalog.KeepMarks(ctx, of)
	if err != nil {
		return true, err
	}
	if did.Any() {
		k.c.Log.Info("marks came in from a recorded session", "session", session, "added", did.Added, "withdrawn", did.Withdrawn, "moved", did.Moved, "settled", did.Settled)
		if k.c.Changed != nil {
			k.c.Changed(ctx)
		}
	}
	return true, nil
}

// correctionBytes is the size of a session's file of corrections, 0 where there is
// none. The file only ever grows.
func correctionBytes(dir, session string) int64 {
	info, err := os.Stat(store.CorrectionsFile(filepath.Join(dir, session+".mcap")))
	if err != nil {
		return 0
	}
	return info.Size()
}

// scan reads the operator lines of a session: whether any leaves a mark, and what they
// say of marks of whichever session.
func scan(ctx context.Context, dir, session string) (said bool, settled []catalog.Settlement, err error) {
	file, ok := store.Find(dir, session)
	if !ok {
		return false, nil, fmt.Errorf("there is no recorded session %s any more", session)
	}
	parts, err := store.Parts(file)
	if err != nil {
		return false, nil, err
	}
	for _, part := range parts {
		err := scanPart(ctx, part, func(e replay.Event) {
			if e.Stream != replay.StreamOperator || !bytes.Contains(e.Line, []byte(`"mark"`)) {
				return
			}
			op, _ := statement.ParseLine(e.Line)
			switch m := op.Mark; {
			case m == nil || op.Correction():
			case m.Of != "":
				settled = append(settled, catalog.Settlement{Origin: m.Of, Done: m.Done, At: e.At, By: m.By})
			default:
				said = true
			}
		})
		if err != nil {
			return false, nil, err
		}
	}
	return said, settled, nil
}

func scanPart(ctx context.Context, file string, take func(replay.Event)) error {
	f, err := os.Open(file)
	if err != nil {
		return fmt.Errorf("look for marks: %w", err)
	}
	defer f.Close()
	r := replay.NewMCAPReader(f, file)
	const often = 1024
	for n := 0; ; n++ {
		if n%often == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		e, err := r.Next()
		var corrupt *replay.CorruptError
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case errors.As(err, &corrupt): // what is whole counts
		case err != nil:
			return fmt.Errorf("look for marks: %w", err)
		default:
			take(e)
		}
	}
}

// lookEvery is after how many lines a replay looks whether it is to stop.
const lookEvery = 1024

// replayed are the marks of a session that stand after all its corrections.
func (k *Keeper) replayed(ctx context.Context, session string) ([]catalog.Mark, error) {
	file, _ := store.Find(k.c.Dir, session)
	in, err := recorded.Open([]string{file}, recorded.Options{})
	if err != nil {
		return nil, err
	}
	defer in.Close()
	_, setup, err := in.Setup(nil)
	if err != nil {
		return nil, err
	}
	s, err := in.Replay(setup, lookEvery, ctx.Err)
	if err != nil {
		return nil, err
	}
	known, err := k.fields(ctx, len(s.Marks()) > 0)
	if err != nil {
		return nil, err
	}
	return known.marks(session, s.Marks()), nil
}
