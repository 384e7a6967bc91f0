package store

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"drawbar/internal/whole"
	"drawbar/replay"
)

// Mended is what was done to one file.
type Mended struct {
	File     string
	Contents replay.Contents // what the file holds now
	Damage   []*replay.CorruptError
	Kept     string // where the damaged file is, "" where nothing but the cut was lost
	Bytes    int64  // size now
	Packed   bool   // false: it was packed and whole, and was left alone
}

// maxDamage bounds how many damaged places are told one by one.
const maxDamage = 100

// Pack brings a session's file into its packed form, mending it where it was cut or
// damaged: every line that can be read is in the new file. What was lost is told. A
// file that is packed and whole is left alone, one that is being recorded gives
// ErrInUse, and one that is no session is refused. An error leaves the file as it
// was.
func Pack(file string) (Mended, error) {
	m := Mended{File: file}
	src, err := os.Open(file)
	if err != nil {
		return m, fmt.Errorf("pack: %w", err)
	}
	defer src.Close()
	if err := lockFile(src); err != nil {
		return m, fmt.Errorf("pack: %w", err)
	}
	info, err := src.Stat()
	if err != nil {
		return m, fmt.Errorf("pack: %w", err)
	}
	dir, base := filepath.Split(file)
	tmp, err := os.CreateTemp(filepath.Clean(dir+"."), "."+base+".*.tmp")
	if err != nil {
		return m, fmt.Errorf("pack %s: %w", file, err)
	}
	done := false
	defer func() {
		tmp.Close()
		if !done {
			os.Remove(tmp.Name())
		}
	}()
	if err := lockFile(tmp); err != nil { // Recover leaves it alone
		return m, fmt.Errorf("pack: %w", err)
	}
	reader := replay.NewMCAPReader(src, file)
	places, last := 0, int64(0)
	w := bufio.NewWriterSize(tmp, 64<<10)
	m.Contents, err = replay.Pack(reader, w, func(e *replay.CorruptError) {
		places++
		last = e.Offset + e.Bytes
		if len(m.Damage) < maxDamage {
			m.Damage = append(m.Damage, e)
		}
	})
	if err != nil {
		return m, fmt.Errorf("pack %s: %w", file, err)
	}
	if places == 0 && reader.Closed() && reader.Packed() {
		m.Bytes = info.Size()
		m.Contents, _ = reader.Contents()
		return m, nil
	}
	if _, known := reader.Head(); !known && m.Contents.Total() == 0 && !begun(src, info.Size()) {
		return m, fmt.Errorf("%s: no session: it does not start as MCAP does and has no line", file)
	}
	if err := w.Flush(); err != nil {
		return m, fmt.Errorf("pack %s: %w", file, err)
	}
	if err := verify(src, tmp, file); err != nil {
		return m, fmt.Errorf("pack %s: %w", file, err)
	}
	// The end that was cut off is no loss worth a copy of the file.
	onlyCut := places == 0 || places == 1 && last == info.Size() && !reader.Closed()
	m.Packed = true
	done = true
	if m.Kept, err = replace(tmp, file, !onlyCut); err != nil {
		os.Remove(tmp.Name())
		return m, fmt.Errorf("pack %s: %w", file, err)
	}
	if info, err := os.Stat(file); err == nil {
		m.Bytes = info.Size()
	}
	return m, nil
}

// begun tells whether a file could be the start of a session: MCAP's first byte, or
// the zeros of a block that power did not let be written, or nothing.
func begun(src io.ReaderAt, size int64) bool {
	var first [1]byte
	if size == 0 {
		return true
	}
	_, err := src.ReadAt(first[:], 0)
	return err == nil && (first[0] == 0x89 || first[0] == 0)
}

// verify reads both files again and compares them.
func verify(src, packed *os.File, file string) error {
	for _, f := range []*os.File{src, packed} {
		if _, err := f.Seek(0, io.SeekStart); err != nil {
			return err
		}
	}
	return replay.Verify(replay.NewMCAPReader(src, file), replay.NewMCAPReader(packed, packed.Name()))
}

// replace gives tmp the name of file, once it is on the disk; keep leaves the old
// file under another name.
func replace(tmp *os.File, file string, keep bool) (kept string, err error) {
	if err := tmp.Chmod(0o644); err != nil { // as any recording; CreateTemp makes secrets
		return "", err
	}
	if err := tmp.Sync(); err != nil {
		return "", err
	}
	if keep {
		// Interrupted between the two renames, Recover puts the old file back.
		kept = file + Damaged
		for n := 2; exists(kept); n++ {
			kept = fmt.Sprintf("%s%s.%d", file, Damaged, n)
		}
		if err := os.Rename(file, kept); err != nil {
			return "", err
		}
	}
	if err := os.Rename(tmp.Name(), file); err != nil {
		if keep {
			err = errors.Join(err, os.Rename(kept, file))
		}
		return "", err
	}
	return kept, whole.SyncDir(filepath.Dir(file))
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// Recover tidies up after a packing that was interrupted: parts of new files go, and
// an old file whose successor never came gets its name back.
func Recover(dir string) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return fmt.Errorf("tidy up %s: %w", dir, err)
	}
	var errs []error
	for _, e := range entries {
		name, path := e.Name(), filepath.Join(dir, e.Name())
		if strings.HasPrefix(name, ".") && strings.Contains(name, extension+".") && strings.HasSuffix(name, ".tmp") {
			errs = append(errs, removeLeft(path))
		}
		if i := strings.LastIndex(name, extension+Damaged); i > 0 {
			if old := filepath.Join(dir, name[:i]+extension); !exists(old) {
				errs = append(errs, os.Rename(path, old))
			}
		}
	}
	if err := errors.Join(errs...); err != nil {
		return fmt.Errorf("tidy up %s: %w", dir, err)
	}
	return nil
}

// removeLeft removes what an interrupted packing left, not what one in another
// process is writing.
func removeLeft(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	if inUse(f) {
		return nil
	}
	return os.Remove(path)
}

// Mend packs every session in dir that is not, mending it where it was cut or
// damaged; a session in use is passed over. It goes on after an error and returns
// all of them, with what was done to each file that it touched.
func Mend(dir string) (done []Mended, err error) {
	sessions, err := List(dir)
	if err != nil {
		return nil, err
	}
	errs := []error{Recover(dir)}
	for _, s := range sessions {
		for _, p := range s.Parts {
			if p.Packed {
				continue
			}
			m, err := Pack(p.File)
			if errors.Is(err, ErrInUse) {
				continue
			}
			if err != nil {
				errs = append(errs, err)
			} else if m.Packed {
				done = append(done, m)
			}
		}
	}
	return done, errors.Join(errs...)
}
