package recent

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"drawbar/internal/live"
	"drawbar/internal/whole"
)

// FileName is the memory's name in the data folder.
const FileName = "recent.json"

const schema = "drawbar.recent.1"

// maxFile is more than maxUses take.
const maxFile = 8 << 20

// Open reads the memory in a folder, which must exist. The Book can be used also
// where there is an error: it then begins anew, and what could not be read is kept
// beside it as recent.json.bad.
func Open(dir string) (*Book, error) {
	b := &Book{path: filepath.Join(dir, FileName), seen: map[seen]float64{}}
	b.file.Schema = schema
	text, err := read(b.path)
	if errors.Is(err, fs.ErrNotExist) {
		return b, nil
	}
	var found file
	if err == nil {
		found, err = parse(text)
	}
	if err != nil {
		aside := b.path + ".bad"
		return b, errors.Join(fmt.Errorf("read %s: %w; it is kept as %s, and what was used last is learnt anew", b.path, err, filepath.Base(aside)), os.Rename(b.path, aside))
	}
	b.file = found
	return b, nil
}

func read(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, maxFile+1))
	if err == nil && len(text) > maxFile {
		err = fmt.Errorf("it has more than %d bytes", maxFile)
	}
	return text, err
}

func parse(text []byte) (f file, err error) {
	if err := json.Unmarshal(text, &f); err != nil {
		return file{}, err
	}
	if f.Schema != schema {
		return file{}, fmt.Errorf("schema %q, want %s", f.Schema, schema)
	}
	if len(f.Uses) > maxUses {
		f.Uses = f.Uses[:maxUses]
	}
	return f, nil
}

// Save brings the memory to the disk, whole or not at all.
func (b *Book) Save() error {
	b.mu.Lock()
	text, err := json.MarshalIndent(b.file, "", " ")
	b.mu.Unlock()
	if err != nil {
		return fmt.Errorf("keep what was used last: %w", err)
	}
	return whole.Write(b.path, 0o644, func(w io.Writer) error {
		_, err := w.Write(append(text, '\n'))
		return err
	})
}

// Times of Run.
const (
	lookEvery = time.Second
	saveEvery = time.Minute // what only grows; what is new is kept at once
)

// Run observes what the hub publishes until ctx ends, and keeps it: what is new at
// once, areas and moments once a minute and at the end. failed is told what could
// not be kept.
func (b *Book) Run(ctx context.Context, hub *live.Hub, failed func(error)) {
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	var saved time.Time
	dirty := false
	look := func() {
		s, _ := hub.Read()
		if s == nil {
			return
		}
		fresh, changed := b.Observe(s)
		dirty = dirty || changed
		if fresh || dirty && time.Since(saved) >= saveEvery {
			b.keep(failed)
			saved, dirty = time.Now(), false
		}
	}
	for {
		select {
		case <-tick.C:
			look()
		case <-ctx.Done():
			look()
			if dirty {
				b.keep(failed)
			}
			return
		}
	}
}

func (b *Book) keep(failed func(error)) {
	if err := b.Save(); err != nil && failed != nil {
		failed(err)
	}
}
