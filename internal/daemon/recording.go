package daemon

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"

	"drawbar/internal/live"
	"drawbar/internal/metrics"
	"drawbar/internal/server"
	"drawbar/internal/store"
	"drawbar/replay"
)

// recording is the session on disk and the folder it lies in.
type recording struct {
	cfg    *Config
	folder *store.Folder
	shelf  *store.Shelf
	*store.Recording
	refused int // lines that no session can hold
}

// openRecording begins a session.
func openRecording(cfg *Config, collector *metrics.Collector) (*recording, error) {
	folder, err := store.Open(cfg.File.Data)
	if err != nil {
		return nil, err
	}
	r := &recording{cfg: cfg, folder: folder, shelf: store.NewShelf(folder.Dir())}
	head := replay.Head{Version: cfg.Version, Zone: cfg.File.Timezone.String(), Config: string(cfg.Text), Field: cfg.File.Field.Name}
	if head.Outline, err = cfg.File.Outline(); err != nil {
		return nil, errors.Join(fmt.Errorf("keep the boundary with the recording: %w", err), folder.Close())
	}
	r.Recording, err = folder.Start(cfg.now(), head, store.Options{OnSync: collector.ObserveSync})
	if err != nil {
		return nil, errors.Join(err, folder.Close())
	}
	return r, nil
}

// tidy mends and packs the sessions that earlier runs left, beside the recording
// of the new one: a day's takes seconds, and the first line must not wait for it.
// A session is replaced only by a whole new file, so that it may be broken off at
// any moment.
func (r *recording) tidy() {
	done, err := store.Mend(r.folder.Dir())
	for _, m := range done {
		if m.Packed {
			r.cfg.Log.Info("packed a session", keyFile, m.File)
		}
	}
	if err != nil {
		r.cfg.Log.Error("a session could not be mended or packed; it stays as it is", keyError, err)
	}
}

// append records an event and tells whether it may be processed. A line that no
// session can hold is passed over, so that the replay knows all that the run knew;
// it is told of once.
func (r *recording) append(e replay.Event) bool {
	err := r.Append(e)
	if err == nil {
		return true
	}
	if r.refused++; r.refused == 1 {
		r.cfg.Log.Warn("a line was passed over", keyError, err)
	}
	return false
}

func (r *recording) name() string { return r.State().Session }

// state is the recording as it is shown.
func (r *recording) state() live.RecordingState {
	s := r.State()
	out := live.RecordingState{
		Session: s.Session, Bytes: s.Bytes, Recording: s.Recording,
		FreeBytes: uint64(max(0, s.FreeBytes)), HasFree: s.HasFree,
	}
	if s.Err != nil {
		out.Err = s.Err.Error()
	}
	return out
}

// keepSynced brings lines to the disk until ctx ends.
func (r *recording) keepSynced(ctx context.Context, beside *sync.WaitGroup) {
	beside.Go(func() {
		if err := r.Run(ctx); err != nil {
			r.cfg.Log.Error("syncing the session has stopped", keyError, err)
		}
	})
}

// packAtStop is the largest recording that is packed while stopping, which must
// be quick. A larger one is packed beside the next run.
const packAtStop = 8 << 20

// close ends the session and packs it where that is quick.
func (r *recording) close() error {
	files, listErr := r.Files()
	bytes := r.State().Bytes
	err := r.Close()
	if err == nil && listErr == nil && bytes <= packAtStop {
		for _, f := range files {
			if _, err := store.Pack(f); err != nil {
				r.cfg.Log.Warn("the session was not packed; it is whole as it stands", keyFile, f, keyError, err)
			}
		}
	}
	return errors.Join(err, listErr, r.folder.Close())
}

// Sessions lists what the folder holds, the latest first.
func (r *recording) Sessions(context.Context) ([]server.Session, error) {
	found, err := r.shelf.List()
	if err != nil {
		return nil, fmt.Errorf("list the sessions: %w", err)
	}
	var out []server.Session
	for _, s := range found {
		begin, end := s.Span()
		state := server.SessionClosed
		switch {
		case s.Busy():
			state = server.SessionOpen
		case !s.Complete():
			state = server.SessionCut
		}
		out = append(out, server.Session{Name: s.Name, Start: begin, End: end, Bytes: s.Bytes(), State: state})
	}
	slices.SortFunc(out, func(a, b server.Session) int { return -cmp.Compare(a.Name, b.Name) })
	return out, nil
}
