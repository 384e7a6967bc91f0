package deploy

import (
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"drawbar/internal/testkit"
)

func TestRulesVerify(t *testing.T) {
	t.Parallel()
	tool := testkit.Tool(t, "udevadm")
	if err := exec.Command(tool, "verify", "--help").Run(); err != nil {
		t.Skip("udevadm knows no verify: it does from systemd 254 on")
	}
	run(t, tool, "verify", "--resolve-names=never", "udev/60-drawbar.rules")
}

// TestRulesName hands the rules to udev itself for a port of this machine, which
// they are told is an adapter with a serial number. A mount namespace hides the
// machine's own rules, and nothing outside is touched.
func TestRulesName(t *testing.T) {
	t.Parallel()
	tool := testkit.Tool(t, "udevadm")
	unshare := testkit.Tool(t, "unshare")
	ports, _ := filepath.Glob("/sys/class/tty/ttyS0")
	if len(ports) == 0 {
		t.Skip("this machine has no /sys/class/tty/ttyS0 to try the rules on")
	}
	const device = `ENV{ID_SERIAL_SHORT}="SERIAL0001", ENV{ID_USB_INTERFACE_NUM}="01", ENV{ID_PATH}="pci-1-usb-0:2:1.0"` + "\n"
	const bare = `ENV{ID_PATH}="pci-1-usb-0:2:1.0"` + "\n"
	for _, c := range []struct {
		name, device, conf, want string
	}{
		{"as delivered", device, read(t, "udev/ports.conf"), ""},
		{"no file", device, "", ""},
		{"serial number", device, "DRAWBAR_GNSS=SERIAL0001\nDRAWBAR_CONTROLLER=SERIAL0002\n", "gnss"},
		{"the other", device, "DRAWBAR_GNSS=SERIAL0002\nDRAWBAR_CONTROLLER=SERIAL0001\n", "controller"},
		{"part of a serial number", device, "DRAWBAR_GNSS=SERIAL000\nDRAWBAR_CONTROLLER=SERIAL00012\n", ""},
		{"one port of several", device, "DRAWBAR_GNSS=SERIAL0001-if00\nDRAWBAR_CONTROLLER=SERIAL0001-if01\n", "controller"},
		{"socket", bare, "DRAWBAR_GNSS=pci-1-usb-0:2:1.0\nDRAWBAR_CONTROLLER=pci-1-usb-0:3:1.0\n", "gnss"},
		{"socket of an adapter with serial number", device, "DRAWBAR_CONTROLLER=pci-1-usb-0:2:1.0\n", "controller"},
		{"a serial number that nobody has", bare, "DRAWBAR_GNSS=SERIAL0001\n", ""},
		{"the example", device, uncommented(read(t, "udev/ports.conf")), "gnss"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			conf := filepath.Join(dir, "none.conf")
			if c.conf != "" {
				conf = write(t, filepath.Join(dir, "ports.conf"), c.conf)
			}
			rules := filepath.Join(dir, "rules.d")
			write(t, filepath.Join(rules, "60-drawbar.rules"), asTold(t, c.device, conf))
			const script = `set -e
for d in /lib/udev/rules.d /usr/lib/udev/rules.d /run/udev/rules.d; do if [ -d $d ]; then mount -t tmpfs none $d; fi; done
mount --bind "$1" /etc/udev/rules.d
exec "$2" test --action=add "$3"`
			out, err := exec.Command(unshare, "--map-root-user", "--mount", "sh", "-c", script, "sh", rules, tool, ports[0]).CombinedOutput()
			if err != nil && !strings.Contains(string(out), "DEVPATH=") {
				t.Skipf("no mount namespace to try the rules in: %v\n%s", err, out)
			}
			if bad := regexp.MustCompile(`(?im)^.*60-drawbar\.rules:\d+.*(invalid|unknown|failed|ignor).*$`).FindString(string(out)); bad != "" {
				t.Errorf("udev complains: %s", bad)
			}
			var got []string
			for _, m := range regexp.MustCompile(`(?m)^DEVLINKS=(.*)$`).FindAllStringSubmatch(string(out), -1) {
				for _, link := range strings.Fields(m[1]) {
					if name, ours := strings.CutPrefix(link, "/dev/drawbar/"); ours {
						got = append(got, name)
					}
				}
			}
			if strings.Join(got, " ") != c.want {
				t.Errorf("names: got %q, want %q\n%s%s\n%s", got, c.want, c.device, c.conf, out)
			}
		})
	}
}

// uncommented takes away the hash before the settings of ports.conf.
func uncommented(conf string) string { return strings.ReplaceAll(conf, "\n#DRAWBAR", "\nDRAWBAR") }

// asTold is the rules with what the kernel and the builtins would tell of an
// adapter put in their place, and with another place for ports.conf.
func asTold(t *testing.T, device, conf string) string {
	const imports = `SUBSYSTEMS=="usb", IMPORT{builtin}="usb_id"
IMPORT{builtin}="path_id"
`
	text := read(t, "udev/60-drawbar.rules")
	for _, part := range []string{imports, `"/etc/drawbar/ports.conf"`} {
		if strings.Count(text, part) != 1 {
			t.Fatalf("60-drawbar.rules: want once: %s", part)
		}
	}
	return strings.NewReplacer(imports, device, `"/etc/drawbar/ports.conf"`, `"`+conf+`"`).Replace(text)
}
