package deploy

import (
	"debug/elf"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"drawbar/internal/testkit"

	"github.com/google/go-cmp/cmp"
)

// packageOf is the package for an architecture among those that make packages
// has built.
func packageOf(t *testing.T, arch string) string {
	t.Helper()
	dir := os.Getenv("DRAWBAR_PACKAGES")
	if dir == "" {
		t.Skip("no packages to look at: make packages builds and tests them")
	}
	found, err := filepath.Glob(filepath.Join(dir, "drawbar_*_"+arch+".deb"))
	if err != nil || len(found) != 1 {
		t.Fatalf("packages for %s in %s: got %v, %v, want one", arch, dir, found, err)
	}
	return found[0]
}

// contents are the files of a package by mode, owner and path, folders left out,
// and where each comes from.
const contents = `-rw-r--r-- root/root ./etc/drawbar/drawbar.yaml < drawbar.yaml
-rw-r--r-- root/root ./etc/drawbar/ports.conf < udev/ports.conf
-rwxr-xr-x root/root ./usr/bin/drawbar
-rw-r--r-- root/root ./usr/lib/systemd/system/drawbar.service < systemd/drawbar.service
-rw-r--r-- root/root ./usr/lib/sysusers.d/drawbar.conf < systemd/sysusers.conf
-rw-r--r-- root/root ./usr/lib/udev/rules.d/60-drawbar.rules < udev/60-drawbar.rules
-rw-r--r-- root/root ./usr/share/doc/drawbar/README.md < ../README.md
-rw-r--r-- root/root ./usr/share/doc/drawbar/examples/grafana/provisioning/dashboards/drawbar.yml < grafana/provisioning/dashboards/drawbar.yml
-rw-r--r-- root/root ./usr/share/doc/drawbar/examples/grafana/provisioning/datasources/drawbar.yml < grafana/provisioning/datasources/drawbar.yml
-rw-r--r-- root/root ./usr/share/doc/drawbar/examples/prometheus/drawbar.rules.yml < prometheus/drawbar.rules.yml
-rw-r--r-- root/root ./usr/share/doc/drawbar/examples/prometheus/prometheus.yml < prometheus/prometheus.yml
-rw-r--r-- root/root ./usr/share/drawbar/grafana/drawbar.json < grafana/drawbar.json
`

func TestPackageContents(t *testing.T) {
	t.Parallel()
	tool := testkit.Tool(t, "dpkg-deb")
	from := regexp.MustCompile(`(?m) < .*$`)
	for arch, machine := range map[string]elf.Machine{"amd64": elf.EM_X86_64, "arm64": elf.EM_AARCH64, "armhf": elf.EM_ARM} {
		t.Run(arch, func(t *testing.T) {
			t.Parallel()
			deb := packageOf(t, arch)
			var got strings.Builder
			for _, m := range regexp.MustCompile(`(?m)^([^d]\S+) (\S+) +\d+ \S+ \S+ (.*)$`).FindAllStringSubmatch(run(t, tool, "-c", deb), -1) {
				got.WriteString(strings.Join(m[1:], " ") + "\n")
			}
			if diff := cmp.Diff(from.ReplaceAllString(contents, ""), got.String()); diff != "" {
				t.Errorf("files (-want +got):\n%s", diff)
			}
			dir := t.TempDir()
			run(t, tool, "-x", deb, dir)
			for _, m := range regexp.MustCompile(`(?m)^\S+ \S+ (\S+) < (.*)$`).FindAllStringSubmatch(contents, -1) {
				if read(t, filepath.Join(dir, m[1])) != read(t, m[2]) {
					t.Errorf("%s is not %s: make packages again", m[1], m[2])
				}
			}
			program, err := elf.Open(filepath.Join(dir, "usr/bin/drawbar"))
			if err != nil {
				t.Fatal(err)
			}
			defer program.Close()
			if program.Machine != machine || program.Section(".interp") != nil {
				t.Errorf("program: got one for %v, want a static one for %v", program.Machine, machine)
			}
			for field, want := range map[string]string{"Package": "drawbar", "Architecture": arch, "Depends": "systemd, udev"} {
				if got := strings.TrimSpace(run(t, tool, "-f", deb, field)); got != want {
					t.Errorf("%s: got %q, want %q", field, got, want)
				}
			}
			if got, want := run(t, tool, "-I", deb, "conffiles"), "/etc/drawbar/drawbar.yaml\n/etc/drawbar/ports.conf\n"; got != want {
				t.Errorf("conffiles: got %q, want %q", got, want)
			}
		})
	}
}

// life is what happens to a package on a board, one step a block. It runs in a
// copy-on-write image of this machine, which it leaves as it was.
const life = `set -e
mount -t tmpfs none "$2"
mkdir "$2/upper" "$2/work" "$2/root"
mount -t overlay overlay -o "lowerdir=/,upperdir=$2/upper,workdir=$2/work" "$2/root"
mount -t proc proc "$2/root/proc"
cp "$1" "$2/root/drawbar.deb"
exec chroot "$2/root" sh -e -c '
link=/etc/systemd/system/multi-user.target.wants/drawbar.service
say() { echo "== $*"; }
has() { if [ -e "$1" ] || [ -L "$1" ]; then say "$2"; else say "no $2"; fi; }
if [ -e $link ] || [ -e /etc/drawbar ]; then say "drawbar is installed here"; exit 3; fi

dpkg --force-depends -i /drawbar.deb
id -nG drawbar | tr " " "\n" | sort | xargs echo == groups
has $link enabled
systemd-analyze verify --man=no drawbar.service
drawbar check /etc/drawbar/drawbar.yaml

echo "# mine" >> /etc/drawbar/drawbar.yaml
systemctl disable --quiet drawbar.service
install -d -o drawbar /var/lib/drawbar
touch /var/lib/drawbar/session.mcap
dpkg --force-depends -i /drawbar.deb
has $link "enabled against my will"
say "$(tail -n 1 /etc/drawbar/drawbar.yaml)"

systemctl enable --quiet drawbar.service
dpkg -r drawbar
dpkg --force-depends -i /drawbar.deb
has $link "enabled after it came back"

dpkg -P drawbar
has $link "enabled after a purge"
has /etc/drawbar/drawbar.yaml configuration
has /var/lib/drawbar/session.mcap recording
'`

func TestPackageLife(t *testing.T) {
	t.Parallel()
	deb := packageOf(t, "amd64")
	unshare := testkit.Tool(t, "unshare")
	testkit.Tool(t, "dpkg")
	testkit.Tool(t, "systemd-sysusers")
	if os.Getuid() != 0 || strings.TrimSpace(run(t, "dpkg", "--print-architecture")) != "amd64" {
		t.Skip("the package is installed by root on amd64 only")
	}
	out, err := exec.Command(unshare, "--mount", "--propagation", "private", "sh", "-c", life, "sh", deb, t.TempDir()).CombinedOutput()
	if err != nil && !strings.Contains(string(out), "Selecting previously unselected") {
		t.Skipf("no image of this machine to install into: %v\n%s", err, out)
	}
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	var got []string
	for _, m := range regexp.MustCompile(`(?m)^== (.*)$`).FindAllStringSubmatch(string(out), -1) {
		got = append(got, m[1])
	}
	want := []string{
		"groups dialout drawbar", "enabled", "no enabled against my will", "# mine",
		"enabled after it came back", "no enabled after a purge", "no configuration", "recording",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s\n%s", diff, out)
	}
}
