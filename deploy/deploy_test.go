// Package deploy holds what a board needs beside the program, as text: the
// service, the names of ports, packages, alert rules and a dashboard. Its tests
// hand each to the program that will read it.
package deploy

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"drawbar/internal/config"
	"drawbar/internal/testkit"

	"github.com/google/go-cmp/cmp"
)

func read(t testing.TB, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func write(t testing.TB, path, text string) string {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// run gives all that the program says, and fails the test where it ends badly.
func run(t testing.TB, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s", filepath.Base(name), strings.Join(args, " "), err, out)
	}
	return string(out)
}

// The configuration of a new board sets nothing but the folder that the service
// may write to.
func TestConfigurationIsTheDefault(t *testing.T) {
	t.Parallel()
	got, err := config.Load("drawbar.yaml")
	if err != nil {
		t.Fatal(err)
	}
	want := config.Default()
	want.Dir, want.Data = ".", "/var/lib/drawbar"
	if diff := cmp.Diff(summary(want), summary(got)); diff != "" {
		t.Errorf("drawbar.yaml as it stands (-default +got):\n%s", diff)
	}
	unit := read(t, "systemd/drawbar.service")
	for _, line := range []string{
		"\nStateDirectory=" + filepath.Base(got.Data) + "\n",
		"\nExecStart=/usr/bin/drawbar run --config /etc/drawbar/drawbar.yaml\n",
	} {
		if !strings.Contains(unit, line) {
			t.Errorf("drawbar.service has no line %q", strings.TrimSpace(line))
		}
	}
}

// Every setting that is shown behind a hash is one, and shows its default where
// it does not call itself an example.
func TestConfigurationShowsDefaults(t *testing.T) {
	t.Parallel()
	text := regexp.MustCompile(`(?m)^#(\S|  )`).ReplaceAllString(read(t, "drawbar.yaml"), "$1")
	got, err := config.Parse("drawbar.yaml", []byte(text), nil)
	if err != nil {
		t.Fatalf("with every hash before a setting taken away: %v", err)
	}
	if got.GNSS.Source != "/dev/drawbar/gnss" || got.Controller.Source != "/dev/drawbar/controller" {
		t.Errorf("sources: got %q and %q, want the names of 60-drawbar.rules", got.GNSS.Source, got.Controller.Source)
	}
	if got.Implement == nil || len(got.Tanks) != 1 || got.Field.Name == "" || !got.HasController {
		t.Errorf("got implement %v, tanks %v, field %q: want the examples in all of them", got.Implement, got.Tanks, got.Field.Name)
	}
	want := config.Default()
	want.Data = "/var/lib/drawbar"
	want.GNSS.Source, want.Controller.Source = got.GNSS.Source, got.Controller.Source // examples
	if diff := cmp.Diff(summary(want), summary(got)); diff != "" {
		t.Errorf("settings that call themselves no example (-default +shown):\n%s", diff)
	}
}

// summary is what has defaults, as it can be compared.
func summary(f config.File) map[string]any {
	return map[string]any{
		"units": f.Units, "timezone": f.Timezone.String(), "gnss": f.GNSS, "data": f.Data, "listen": f.Listen, "limits": f.Limits,
		"controller": []any{f.Controller.Source, f.Controller.Baud, f.Controller.StaleAfterS, f.Controller.ReportLagS, f.Controller.Line.Kind},
	}
}

// asInstalled is the unit with a program that is there in place of ours.
func asInstalled(t *testing.T) string {
	unit := strings.Replace(read(t, "systemd/drawbar.service"), "ExecStart=/usr/bin/drawbar ", "ExecStart=/bin/true ", 1)
	return write(t, filepath.Join(t.TempDir(), "drawbar.service"), unit)
}

func TestUnitVerify(t *testing.T) {
	t.Parallel()
	// It ends well also where it found an unknown key: whatever it says counts.
	if out := run(t, testkit.Tool(t, "systemd-analyze"), "verify", "--man=no", asInstalled(t)); out != "" {
		t.Errorf("systemd-analyze verify:\n%s", out)
	}
}

// maxExposure is in tenths of the points of systemd-analyze security, 0 (nothing
// within reach) to 100. What is left are serial ports, the network and the group
// that owns the ports.
const maxExposure = "16"

func TestUnitSecurity(t *testing.T) {
	t.Parallel()
	run(t, testkit.Tool(t, "systemd-analyze"), "security", "--offline=true", "--no-pager", "--threshold="+maxExposure, asInstalled(t))
}

// The unit asks for a user that sysusers.d makes, in the group of the ports.
func TestSysusers(t *testing.T) {
	t.Parallel()
	tool := testkit.Tool(t, "systemd-sysusers")
	root := t.TempDir()
	conf, err := filepath.Abs("systemd/sysusers.conf")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(root, "etc"), 0o755); err != nil {
		t.Fatal(err)
	}
	run(t, tool, "--root="+root, conf)
	if got := read(t, filepath.Join(root, "etc/passwd")); !regexp.MustCompile(`(?m)^drawbar:\w*:\d+:\d+:drawbar daemon:/var/lib/drawbar:\S*nologin$`).MatchString(got) {
		t.Errorf("passwd: got %q, want a user drawbar who cannot log in", got)
	}
	if got := read(t, filepath.Join(root, "etc/group")); !regexp.MustCompile(`(?m)^dialout:\w*:\d+:drawbar$`).MatchString(got) {
		t.Errorf("group: got %q, want drawbar in dialout", got)
	}
	unit := []byte(read(t, "systemd/drawbar.service"))
	for _, line := range []string{"User=drawbar", "Group=drawbar", "SupplementaryGroups=dialout"} {
		if !bytes.Contains(unit, []byte("\n"+line+"\n")) {
			t.Errorf("drawbar.service has no %s", line)
		}
	}
}
