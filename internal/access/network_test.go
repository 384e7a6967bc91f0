package access

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"testing"
	"time"
)

// TestFromAnotherMachine lets a stranger on another network try the board over real
// sockets: the test program runs twice more, as board and as tablet, each in a
// network namespace of its own, joined by a virtual cable. Nothing is left behind:
// namespaces and cable go with the processes.
func TestFromAnotherMachine(t *testing.T) {
	t.Parallel()
	if _, err := exec.LookPath("ip"); err != nil {
		t.Skip("needs the program ip (iproute2) to lay the cable")
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), roleEnv+"=board", pathEnv+"="+fileIn(t))
	cmd.SysProcAttr = &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWNET}
	if os.Getuid() != 0 { // an ordinary user is root in a user namespace, where that is allowed
		cmd.SysProcAttr.Cloneflags |= syscall.CLONE_NEWUSER
		cmd.SysProcAttr.UidMappings = []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}}
		cmd.SysProcAttr.GidMappings = []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}}
	}
	var said strings.Builder
	cmd.Stdout, cmd.Stderr = &said, &said
	if err := cmd.Start(); err != nil {
		t.Skipf("no network namespace may be made here: %v", err)
	}
	err = cmd.Wait()
	if strings.Contains(said.String(), noCable) {
		t.Skipf("%s", said.String())
	}
	if err != nil || !strings.Contains(said.String(), "all as wanted") {
		t.Errorf("%v\n%s", err, said.String())
	}
	t.Log(said.String())
}

const (
	boardAddr  = "192.0.2.1" // RFC 5737, section 3: addresses for examples
	tabletAddr = "192.0.2.2"
	noCable    = "no cable could be laid"
)

func ip(args ...string) error {
	if out, err := exec.Command("ip", args...).CombinedOutput(); err != nil {
		return fmt.Errorf("ip %s: %w: %s", strings.Join(args, " "), err, out)
	}
	return nil
}

// boardMain is the board: real server, real listener, file of devices.
func boardMain() int {
	if err := runBoard(); err != nil {
		fmt.Println(err)
		return 1
	}
	return 0
}

func runBoard() error {
	self, err := os.Executable()
	if err != nil {
		return err
	}
	tablet := exec.Command(self)
	tablet.Env = append(os.Environ(), roleEnv+"=tablet")
	tablet.SysProcAttr = &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWNET}
	tablet.Stdout, tablet.Stderr = os.Stdout, os.Stderr
	in, err := tablet.StdinPipe()
	if err != nil {
		return err
	}
	if err := tablet.Start(); err != nil {
		return fmt.Errorf("%s: %w", noCable, err)
	}
	defer func() { _ = tablet.Process.Kill() }()
	for _, args := range [][]string{
		{"link", "set", "lo", "up"},
		{"link", "add", "cable0", "type", "veth", "peer", "name", "cable1", "netns", fmt.Sprint(tablet.Process.Pid)},
		{"addr", "add", boardAddr + "/24", "dev", "cable0"},
		{"link", "set", "cable0", "up"},
	} {
		if err := ip(args...); err != nil {
			return fmt.Errorf("%s: %w", noCable, err)
		}
	}
	shown := &console{}
	gate, err := New(Config{File: os.Getenv(pathEnv), Public: isPage, Announce: shown.show})
	if err != nil {
		return err
	}
	l, err := net.Listen("tcp", ":0") // every address of the board
	if err != nil {
		return err
	}
	_, port, _ := net.SplitHostPort(l.Addr().String())
	server := &http.Server{Handler: gate.Wrap(routes(gate)), ReadHeaderTimeout: 5 * time.Second}
	go func() { _ = server.Serve(gate.Limit(l)) }()
	defer server.Close()
	code, err := getCode("http://127.0.0.1:" + port) // the board itself is free
	if err != nil {
		return err
	}
	if err := json.NewEncoder(in).Encode(map[string]string{"port": port, "code": code.Code}); err != nil {
		return err
	}
	return tablet.Wait()
}

func getCode(base string) (Code, error) {
	var code Code
	resp, err := http.Get(base + "/api/access/code")
	if err != nil {
		return code, err
	}
	defer resp.Body.Close()
	if resp.StatusCode != 200 {
		return code, fmt.Errorf("the board itself gets status %d for the code", resp.StatusCode)
	}
	return code, json.NewDecoder(resp.Body).Decode(&code)
}

// tabletMain is a machine on the same network: first a stranger, then paired.
func tabletMain() int {
	if err := runTablet(); err != nil {
		fmt.Println(err)
		return 1
	}
	return 0
}

func runTablet() error {
	line, err := bufio.NewReader(os.Stdin).ReadBytes('\n')
	if err != nil {
		return err
	}
	var at struct{ Port, Code string }
	if err := json.Unmarshal(line, &at); err != nil {
		return err
	}
	for _, args := range [][]string{{"addr", "add", tabletAddr + "/24", "dev", "cable1"}, {"link", "set", "cable1", "up"}, {"link", "set", "lo", "up"}} {
		if err := ip(args...); err != nil {
			return fmt.Errorf("%s: %w", noCable, err)
		}
	}
	base := "http://" + net.JoinHostPort(boardAddr, at.Port)
	client := &http.Client{Timeout: 10 * time.Second}
	var paired *http.Cookie
	ask := func(method, path, body string, want int, set ...func(*http.Request)) error {
		r, err := http.NewRequestWithContext(context.Background(), method, base+path, strings.NewReader(body))
		if err != nil {
			return err
		}
		if paired != nil {
			r.AddCookie(&http.Cookie{Name: paired.Name, Value: paired.Value})
		}
		for _, f := range set {
			f(r)
		}
		resp, err := client.Do(r)
		if err != nil {
			return err
		}
		defer resp.Body.Close()
		text, err := io.ReadAll(resp.Body)
		fmt.Printf("%s %s %s -> %d\n", method, path, r.Host, resp.StatusCode)
		if err != nil || resp.StatusCode != want || want >= 400 && strings.Contains(string(text), "Mill Piece") {
			return fmt.Errorf("%s %s: status %d %s, %v; want %d", method, path, resp.StatusCode, text, err, want)
		}
		for _, c := range resp.Cookies() {
			paired = c
		}
		return nil
	}
	pair := fmt.Sprintf(`{"code":%q,"name":"tablet in cab"}`, at.Code)
	for _, step := range []func() error{
		func() error { return ask("GET", "/api/state", "", 401) },
		func() error { return ask("POST", "/api/operator", "{}", 401) },
		func() error { return ask("GET", "/metrics", "", 401) },
		func() error { return ask("GET", "/api/access/code", "", 401) },
		func() error { return ask("GET", "/api/state", "", 401, host("127.0.0.1:"+at.Port)) },
		func() error { return ask("GET", "/api/state", "", 401, header("X-Forwarded-For", "127.0.0.1")) },
		func() error { return ask("GET", "/", "", 421, host("evil.example")) },
		func() error { return ask("GET", "/", "", 200) },
		func() error { return ask("GET", "/api/access", "", 200) },
		func() error { return ask("POST", "/api/access/pair", pair, 200) },
		func() error { return ask("GET", "/api/state", "", 200) },
		func() error { return ask("POST", "/api/operator", "{}", 200) },
		func() error { return ask("POST", "/api/operator", "{}", 403, header("Origin", "http://evil.example")) },
		func() error { return ask("GET", "/api/state", "", 421, host("evil.example")) },
		func() error { paired = nil; return ask("POST", "/api/access/pair", pair, 403) },
	} {
		if err := step(); err != nil {
			return err
		}
	}
	fmt.Println("all as wanted")
	return nil
}
