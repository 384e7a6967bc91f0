package access

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"drawbar/internal/whole"
)

const (
	fileVersion = 1
	maxFile     = 256 << 10 // bytes
	fileMode    = 0o600
)

// The file, JSON:
//
//	{"version": 1, "devices": [{"id": "…", "name": "tablet in cab", "role": "operator",
//	  "token_sha256": "64 hexadecimal digits", "since": "…Z", "last_seen": "…Z"}]}
type fileJSON struct {
	Version int          `json:"version"`
	Devices []deviceJSON `json:"devices"`
}

type deviceJSON struct {
	ID       string    `json:"id"`
	Name     string    `json:"name"`
	Role     Role      `json:"role"`
	Token    string    `json:"token_sha256"`
	Since    time.Time `json:"since"`
	LastSeen time.Time `json:"last_seen"`
}

// readFile reads the devices. No file means none; anything that is not wholly
// understood is an error.
func readFile(path string) ([]*device, error) {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read the paired devices: %w", err)
	}
	defer f.Close()
	list, err := parseFile(f)
	if err != nil {
		return nil, fmt.Errorf("read the paired devices %s: %w", path, err)
	}
	return list, nil
}

func parseFile(r io.Reader) ([]*device, error) {
	body, err := io.ReadAll(io.LimitReader(r, maxFile+1))
	if err != nil {
		return nil, err
	}
	if len(body) > maxFile {
		return nil, fmt.Errorf("it is larger than %d bytes", maxFile)
	}
	d := json.NewDecoder(bytes.NewReader(body))
	d.DisallowUnknownFields()
	var v fileJSON
	if err := d.Decode(&v); err != nil {
		return nil, fmt.Errorf("not the JSON of devices: %w", err)
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, errors.New("something follows the JSON of devices")
	}
	if v.Version != fileVersion {
		return nil, fmt.Errorf("it is of version %d, this program reads version %d", v.Version, fileVersion)
	}
	if len(v.Devices) > maxDevices {
		return nil, fmt.Errorf("it has %d devices, %d at most", len(v.Devices), maxDevices)
	}
	list := make([]*device, 0, len(v.Devices))
	ids, known := make(map[string]bool), make(map[digest]bool)
	for i, j := range v.Devices {
		var token digest
		raw, err := hex.DecodeString(j.Token)
		if err != nil || copy(token[:], raw) != len(token) || len(raw) != len(token) {
			return nil, fmt.Errorf("device %d: token_sha256 is not 64 hexadecimal digits", i+1)
		}
		switch {
		case !j.Role.given():
			return nil, fmt.Errorf("device %d: role %q, want operator, viewer or helper", i+1, j.Role)
		case j.ID == "" || ids[j.ID] || known[token]:
			return nil, fmt.Errorf("device %d: its id or token is missing or there twice", i+1)
		}
		ids[j.ID], known[token] = true, true
		list = append(list, &device{
			id: j.ID, name: deviceName(j.Name), role: j.Role, since: j.Since.UTC(), token: token,
			presence: newPresence(j.LastSeen),
		})
	}
	return list, nil
}

func encodeFile(list []*device, now time.Time) ([]byte, error) {
	v := fileJSON{Version: fileVersion, Devices: []deviceJSON{}}
	for _, d := range list {
		s := d.shown(now)
		v.Devices = append(v.Devices, deviceJSON{s.ID, s.Name, s.Role, hex.EncodeToString(d.token[:]), s.Since, s.LastSeen})
	}
	body, err := json.MarshalIndent(v, "", "  ")
	return append(body, '\n'), err
}

// writeFile replaces the file: whoever reads it, or finds it after a power cut, has
// the old bytes or the new ones.
func writeFile(path string, body []byte) error {
	err := whole.Write(path, fileMode, func(w io.Writer) error {
		_, err := w.Write(body)
		return err
	})
	if err != nil {
		return fmt.Errorf("write the paired devices: %w", err)
	}
	return nil
}

// tidyFile removes what a killed writer left and takes the file from the eyes of
// others, who have no use for it.
func tidyFile(path string) error {
	left, err := filepath.Glob(filepath.Join(filepath.Dir(path), whole.Unfinished(path)))
	for _, name := range left {
		err = errors.Join(err, os.Remove(name))
	}
	info, statErr := os.Lstat(path)
	if statErr == nil && info.Mode().IsRegular() && info.Mode().Perm() != fileMode {
		err = errors.Join(err, os.Chmod(path, fileMode))
	}
	return err
}
