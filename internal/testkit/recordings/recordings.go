// Package recordings makes recorded sessions for tests: the example sessions, as a
// daemon would have recorded them.
package recordings

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"

	"drawbar/internal/config"
	"drawbar/internal/store"
	"drawbar/internal/testkit"
	"drawbar/replay"
)

// Of records the example session testdata/sessions/EXAMPLE into the folder dir, with
// its configuration, packed, and returns the name of the session.
func Of(t testing.TB, dir, example string) (session string) {
	t.Helper()
	session, err := record(dir, filepath.Join(testkit.ModuleRoot(t), "testdata/sessions", example))
	if err != nil {
		t.Fatalf("record %s: %v", example, err)
	}
	return session
}

func record(dir, from string) (session string, err error) {
	path := filepath.Join(from, "config.yaml")
	file, err := config.Load(path)
	if err != nil {
		return "", err
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return "", err
	}
	head := replay.Head{Version: "test", Zone: file.Timezone.String(), Config: string(text), Field: file.Field.Name}
	if head.Outline, err = file.Outline(); err != nil {
		return "", err
	}
	in, err := os.Open(filepath.Join(from, "input.capture"))
	if err != nil {
		return "", err
	}
	defer in.Close()
	folder, err := store.Open(dir)
	if err != nil {
		return "", err
	}
	defer folder.Close()
	source := replay.NewCaptureReader(in, in.Name())
	first, err := source.Next()
	if err != nil {
		return "", err
	}
	r, err := folder.Start(first.At, head, store.Options{StopBytes: 1})
	if err != nil {
		return "", err
	}
	for e := first; err == nil; e, err = source.Next() {
		if err := r.Append(e); err != nil {
			return "", fmt.Errorf("%w, and %w", err, r.Close())
		}
	}
	if !errors.Is(err, io.EOF) {
		return "", fmt.Errorf("%w, and %w", err, r.Close())
	}
	session = r.State().Session
	files, err := r.Files()
	if err != nil {
		return "", err
	}
	if err := r.Close(); err != nil {
		return "", err
	}
	_, err = store.Pack(files[0])
	return session, err
}
