package store

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"sort"
	"strconv"
	"strings"
	"time"
)

const (
	extension = ".mcap"
	// Damaged is what is put behind the name of a file whose mended copy took its
	// place.
	Damaged     = ".damaged"
	corrections = ".corrections.jsonl"
)

// sessionName is the name of a session by its number and the clock.
func sessionName(number int, at time.Time) string {
	return fmt.Sprintf("%06d-%s", number, at.UTC().Format("20060102T150405Z"))
}

// partName is the file of a session's part, from 1.
func partName(session string, part int) string {
	if part <= 1 {
		return session + extension
	}
	return fmt.Sprintf("%s.%d%s", session, part, extension)
}

// splitName takes a file's name apart; any *.mcap is a session, of whatever name.
func splitName(file string) (session string, part int, ok bool) {
	session, ok = strings.CutSuffix(filepath.Base(file), extension)
	if !ok || session == "" || session[0] == '.' {
		return "", 0, false
	}
	if i := strings.LastIndexByte(session, '.'); i > 0 {
		if n, err := strconv.Atoi(session[i+1:]); err == nil && n > 1 && session[i+1:] == strconv.Itoa(n) {
			return session[:i], n, true
		}
	}
	return session, 1, true
}

// Parts are the files of the session that file belongs to, in order. Of a part that
// is not the first it is that file alone.
func Parts(file string) ([]string, error) {
	session, part, ok := splitName(file)
	if !ok || part != 1 {
		return []string{file}, nil
	}
	dir := filepath.Dir(file)
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, fmt.Errorf("list the parts of %s: %w", file, err)
	}
	type numbered struct {
		file string
		part int
	}
	parts := []numbered{{file, 1}}
	for _, e := range entries {
		if s, n, ok := splitName(e.Name()); ok && s == session && n > 1 {
			parts = append(parts, numbered{filepath.Join(dir, e.Name()), n})
		}
	}
	sort.Slice(parts, func(i, j int) bool { return parts[i].part < parts[j].part })
	files := make([]string, len(parts))
	for i, p := range parts {
		files[i] = p.file
	}
	return files, nil
}

// nextNumber is one more than the highest number in the folder.
func nextNumber(dir string) (int, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return 0, fmt.Errorf("name a session: %w", err)
	}
	leading := regexp.MustCompile(`^(\d{6,9})-`)
	most := 0
	for _, e := range entries {
		if m := leading.FindStringSubmatch(e.Name()); m != nil {
			n, _ := strconv.Atoi(m[1])
			most = max(most, n)
		}
	}
	return most + 1, nil
}
