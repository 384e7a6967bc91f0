package access

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"drawbar/internal/whole"
)

func TestRestartKeepsDevices(t *testing.T) {
	t.Parallel()
	file := fileIn(t)
	b := newBoard(t, file)
	tablet, screen, gone := b.pair(t, Operator, "tablet in cab"), b.pair(t, Operator, "screen in the office"), b.pair(t, Operator, "lost")
	if _, err := b.SetRole(local(), screen.Device.ID, Viewer); err != nil {
		t.Fatal(err)
	}
	if err := b.Revoke(local(), gone.Device.ID); err != nil {
		t.Fatal(err)
	}
	before, err := b.Devices(local())
	if err != nil {
		t.Fatal(err)
	}
	again := newBoard(t, file)
	after, err := again.Devices(local())
	if err != nil || fmt.Sprint(after) != fmt.Sprint(before) || len(after) != 2 {
		t.Errorf("devices %v %v, want %v", after, err, before)
	}
	for _, c := range []struct {
		p           Paired
		read, write int
	}{{tablet, 200, 200}, {screen, 200, 403}, {gone, 401, 401}} {
		wantStatus(t, "read", again.ask("GET", "/api/state", as(c.p.Cookie)), c.read)
		wantStatus(t, "write", again.ask("POST", "/api/operator", as(c.p.Cookie)), c.write)
	}
}

// OWASP ASVS 4.0, 3.2.4 and V2.4, from memory: what is stored lets nobody in.
func TestFileHoldsNoSecret(t *testing.T) {
	t.Parallel()
	file := fileIn(t)
	b := newBoard(t, file)
	p := b.pair(t, Operator, "tablet")
	got, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256([]byte(p.Cookie.Value))
	if strings.Contains(string(got), p.Cookie.Value) || !strings.Contains(string(got), hex.EncodeToString(sum[:])) {
		t.Errorf("file %s: want the SHA-256 of the token and not the token", got)
	}
	wantPrivate(t, file)
	if err := os.Chmod(file, 0o666); err != nil {
		t.Fatal(err)
	}
	newBoard(t, file)
	wantPrivate(t, file)
}

// wantPrivate fails unless the file is its owner's alone and nothing lies beside it.
func wantPrivate(t testing.TB, file string) {
	t.Helper()
	entries, err := os.ReadDir(filepath.Dir(file))
	if err != nil || len(entries) != 1 {
		t.Fatalf("folder holds %v %v, want the file alone", entries, err)
	}
	info, err := entries[0].Info()
	if err != nil || info.Mode() != fs.FileMode(fileMode) {
		t.Errorf("mode %v %v, want 0600", info.Mode(), err)
	}
}

func TestBrokenFileLocksOut(t *testing.T) {
	t.Parallel()
	file := fileIn(t)
	b := newBoard(t, file)
	p := b.pair(t, Operator, "tablet")
	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	text := string(whole)
	broken := map[string]string{
		"empty": "", "half": text[:len(text)/2], "zeros": strings.Repeat("\x00", len(text)), "twice": text + text, "no JSON": "devices", "null token": strings.Replace(text, `"token_sha256"`, `"token"`, 1),
		"other version": strings.Replace(text, `"version": 1`, `"version": 2`, 1), "other role": strings.Replace(text, `"operator"`, `"owner"`, 1),
		"short token": strings.Replace(text, `"token_sha256": "`, `"token_sha256": "00`, 1), "no id": strings.Replace(text, `"id": "`+p.Device.ID, `"id": "`, 1),
		"huge": text + strings.Repeat(" ", maxFile), "list": "[]", "further member": strings.Replace(text, `"version": 1`, `"version": 1, "open": true`, 1), "null": "null", "number": "1",
	}
	for name, content := range broken {
		file := fileIn(t)
		if err := os.WriteFile(file, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
		b := newBoard(t, file)
		if err := b.Locked(); err == nil || !strings.Contains(err.Error(), file) || !strings.Contains(err.Error(), "move it away") {
			t.Errorf("%s: locked by %v, want the file and what to do", name, err)
			continue
		}
		wantStatus(t, name+", device", b.ask("GET", "/api/state", as(p.Cookie)), 401)
		wantStatus(t, name+", stranger", b.ask("GET", "/api/access"), 200)
		wantStatus(t, name+", pair", b.ask("POST", "/api/access/pair", body(`{"code":"00000000"}`)), 503)
		wantStatus(t, name+", board", b.ask("POST", "/api/operator", onTheBoard), 200)
		wantStatus(t, name+", devices on the board", b.ask("GET", "/api/access/devices", onTheBoard), 503)
		w := b.ask("GET", "/api/access/code", onTheBoard)
		wantStatus(t, name+", code on the board", w, 503)
		if !strings.Contains(w.Body.String(), "move it away") {
			t.Errorf("%s: the board is told %s, want what to do", name, w.Body)
		}
		if b.console.count() > 0 {
			t.Errorf("%s: a code was shown that lets nobody in", name)
		}
		wantError(t, name+", revoke", b.Revoke(local(), "x"), 503)
		if err := b.Close(); err != nil {
			t.Error(err)
		}
		if now, err := os.ReadFile(file); err != nil || string(now) != content {
			t.Errorf("%s: the file was changed: %v", name, err)
		}
	}
	dir := t.TempDir()
	if g, err := New(Config{File: dir}); err != nil || g.Locked() == nil {
		t.Errorf("a folder for a file: %v, want locked", err)
	}
}

func TestDiskFails(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "data")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	b := newBoard(t, filepath.Join(dir, "devices.json"))
	p, q := b.pair(t, Operator, "tablet"), b.pair(t, Operator, "screen")
	away := dir + ".away"
	if err := os.Rename(dir, away); err != nil {
		t.Fatal(err)
	}
	wantError(t, "revoke", b.Revoke(local(), p.Device.ID), 500)
	wantStatus(t, "revoked without a disk", b.ask("GET", "/api/state", as(p.Cookie)), 401)
	_, err := b.SetRole(local(), q.Device.ID, Viewer)
	wantError(t, "viewer", err, 500)
	wantStatus(t, "viewer without a disk", b.ask("POST", "/api/operator", as(q.Cookie)), 403)
	_, err = b.SetRole(local(), q.Device.ID, Operator)
	wantError(t, "operator", err, 500)
	wantStatus(t, "no more than before", b.ask("POST", "/api/operator", as(q.Cookie)), 403)
	code, _ := b.NewCode(local(), Operator)
	_, err = b.Pair(stranger("192.0.2.60:1"), code.Code, "")
	wantError(t, "pair", err, 500)
	if list, err := b.Devices(local()); err != nil || len(list) != 1 {
		t.Errorf("devices %v %v, want the one that is kept", list, err)
	}
	if err := os.Rename(away, dir); err != nil {
		t.Fatal(err)
	}
	if err := b.Close(); err != nil { // the disk is back: what was taken away is written
		t.Fatal(err)
	}
	again := newBoard(t, b.file)
	wantStatus(t, "revoked, after a restart", again.ask("GET", "/api/state", as(p.Cookie)), 401)
	wantStatus(t, "viewer, after a restart", again.ask("POST", "/api/operator", as(q.Cookie)), 403)
}

func TestLastSeenIsWrittenRarely(t *testing.T) {
	t.Parallel()
	b := newBoard(t, fileIn(t))
	p := b.pair(t, Operator, "tablet")
	writes, last := 0, stat(t, b.file)
	start := b.clock.now()
	for b.clock.now().Before(start.Add(10 * time.Hour)) { // a day in the field, a request every 20 s
		wantStatus(t, "read", b.ask("GET", "/api/state", as(p.Cookie)), 200)
		if now := stat(t, b.file); !os.SameFile(now, last) {
			writes, last = writes+1, now
		}
		b.clock.add(20 * time.Second)
	}
	if writes < 8 || writes > 10 {
		t.Errorf("%d writes in ten hours, want about one an hour", writes)
	}
	seen := b.clock.now().Add(-20 * time.Second).Truncate(time.Minute)
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	if list, err := newBoard(t, b.file).Devices(local()); err != nil || len(list) != 1 || !list[0].LastSeen.Equal(seen) {
		t.Errorf("devices %+v %v, want one last seen at %s", list, err, seen)
	}
	wantStatus(t, "after the end", b.ask("GET", "/api/state", as(p.Cookie)), 401)
	code, _ := b.NewCode(local(), Operator)
	_, err := b.Pair(stranger("192.0.2.60:1"), code.Code, "")
	wantError(t, "pair after the end", err, 503)
}

func stat(t testing.TB, file string) fs.FileInfo {
	t.Helper()
	info, err := os.Stat(file)
	if err != nil {
		t.Fatal(err)
	}
	return info
}

// lists are two files that the killed writer writes in turn; the second is long, so
// that it takes several pages.
func lists() [2][]byte {
	var out [2][]byte
	for i, n := range []int{1, maxDevices} {
		var list []*device
		for k := range n {
			list = append(list, &device{
				id: fmt.Sprint(k), name: strings.Repeat("x", maxNameRune), role: Viewer, token: sha256.Sum256([]byte{byte(k)}),
				presence: newPresence(time.Unix(0, 0)),
			})
		}
		out[i], _ = encodeFile(list, time.Unix(0, 0))
	}
	return out
}

func writeForever(path string) error {
	both := lists()
	for i := 0; ; i++ {
		if err := writeFile(path, both[i%2]); err != nil {
			return err
		}
		fmt.Println(i)
	}
}

// Killed at any instant, the file is the old one or the new one, and the next start
// removes what else was left.
func TestKilledWriter(t *testing.T) {
	t.Parallel()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	both, file, left := lists(), fileIn(t), 0
	for kill := range 25 {
		cmd := exec.Command(self)
		cmd.Env = append(os.Environ(), roleEnv+"=writer", pathEnv+"="+file)
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		for buf := make([]byte, 1+kill*7); ; { // so many bytes of its words, and then the end
			if _, err := out.Read(buf); err != nil {
				t.Fatal(err)
			}
			break
		}
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		got, err := os.ReadFile(file)
		if err != nil || !bytes.Equal(got, both[0]) && !bytes.Equal(got, both[1]) {
			t.Fatalf("kill %d: %d bytes, %v; want the old file or the new one", kill, len(got), err)
		}
		names, _ := filepath.Glob(filepath.Join(filepath.Dir(file), whole.Unfinished(file)))
		left += len(names)
		if g, err := New(Config{File: file}); err != nil || g.Locked() != nil {
			t.Fatalf("kill %d: %v %v", kill, err, g.Locked())
		}
		wantPrivate(t, file)
	}
	t.Logf("25 kills left %d unfinished files", left)
}
