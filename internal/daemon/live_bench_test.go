package daemon_test

import (
	"bufio"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"drawbar/internal/sim"
	"drawbar/internal/sim/simdir"

	"github.com/creack/pty"
)

// BenchmarkLive runs the daemon as a process of its own on one processor, fed in
// real time through pseudo-terminals at 20 fixes and 5 reports a second, 36
// sections, and reports what it takes: share of a processor, memory, how soon
// fixes reach coverage, and how soon after its start the first byte is recorded.
func BenchmarkLive(b *testing.B) {
	const runS = 20.0
	sc := sim.ParallelPasses(4, 200, 36, 35)
	sc.Implement.SectionsM = slices.Repeat([]float64{1}, 36)
	sc.Receiver.HZ, sc.Machine.HZ = 20, 5
	for b.Loop() {
		gnss, gnssPort := terminal(b)
		controller, controllerPort := terminal(b)
		dir := b.TempDir()
		path := filepath.Join(dir, simdir.ConfigFile)
		text := simdir.ConfigFor(sc, simdir.Ports{GNSS: gnssPort, GNSSBaud: 115200, Controller: controllerPort, ControllerBaud: 38400})
		for name, data := range map[string][]byte{path: text, filepath.Join(dir, simdir.BoundaryFile): simdir.Boundary(sc.Field)} {
			if err := os.WriteFile(name, data, 0o600); err != nil {
				b.Fatal(err)
			}
		}
		data := filepath.Join(dir, "data")
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), childEnv+"="+data, configEnv+"="+path, "GOMAXPROCS=1")
		out, err := cmd.StdoutPipe()
		if err != nil {
			b.Fatal(err)
		}
		began := time.Now()
		if err := cmd.Start(); err != nil {
			b.Fatal(err)
		}
		address, err := bufio.NewReader(out).ReadString('\n')
		if err != nil {
			b.Fatal(err)
		}
		first := time.Duration(0)
		feeding := time.Now()
		_, err = sim.Run(sc, func(at time.Time, stream string, line []byte) error {
			due := feeding.Add(at.Sub(sc.Start))
			if due.Sub(feeding).Seconds() > runS {
				return io.EOF
			}
			time.Sleep(time.Until(due))
			to := gnss
			if stream == sim.StreamController {
				to = controller
			}
			if _, err := to.Write(append(slices.Clone(line), '\r', '\n')); err != nil {
				return err
			}
			if first == 0 && recordedBytes(data) > 2000 {
				first = time.Since(began)
			}
			return nil
		})
		if err != nil && !strings.Contains(err.Error(), "EOF") {
			b.Fatal(err)
		}
		p99, seen := quantile(b, "http://"+strings.TrimSpace(address)+"/metrics", "drawbar_fix_to_coverage_seconds", 0.99)
		_ = cmd.Process.Signal(syscall.SIGTERM)
		stopping := time.Now()
		if err := cmd.Wait(); err != nil {
			b.Fatal(err)
		}
		usage, ok := cmd.ProcessState.SysUsage().(*syscall.Rusage)
		if !ok || seen < 100 {
			b.Fatalf("%d fixes seen, usage known: %v", seen, ok)
		}
		used := cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
		b.ReportMetric(used.Seconds()/runS*100, "%cpu")
		b.ReportMetric(float64(usage.Maxrss)/1024, "MB-resident")
		b.ReportMetric(p99*1000, "p99-ms/fix")
		b.ReportMetric(first.Seconds()*1000, "ms-to-first-record")
		b.ReportMetric(time.Since(stopping).Seconds()*1000, "ms-to-stop")
	}
}

// terminal opens a pseudo-terminal: we write as the device, path is the port.
func terminal(b *testing.B) (device *os.File, path string) {
	b.Helper()
	device, port, err := pty.Open()
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { device.Close(); port.Close() })
	return device, port.Name()
}

// recordedBytes is the size of what lies in the folder.
func recordedBytes(dir string) (n int64) {
	entries, _ := os.ReadDir(dir)
	for _, e := range entries {
		if info, err := e.Info(); err == nil {
			n += info.Size()
		}
	}
	return n
}

// quantile is an upper bound of the q-th quantile by a histogram's buckets.
func quantile(b *testing.B, url, name string, q float64) (bound float64, count int) {
	b.Helper()
	r, err := http.Get(url)
	if err != nil {
		b.Fatal(err)
	}
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	if err != nil {
		b.Fatal(err)
	}
	type bucket struct{ le, n float64 }
	var buckets []bucket
	for line := range strings.Lines(string(text)) {
		if rest, ok := strings.CutPrefix(line, name+"_bucket{le=\""); ok {
			le, n, _ := strings.Cut(rest, "\"} ")
			bound, err := strconv.ParseFloat(le, 64)
			value, err2 := strconv.ParseFloat(strings.TrimSpace(n), 64)
			if err == nil && err2 == nil {
				buckets = append(buckets, bucket{bound, value})
			}
		}
	}
	total := buckets[len(buckets)-1].n
	for _, k := range buckets {
		if k.n >= q*total {
			return k.le, int(total)
		}
	}
	return 0, int(total)
}
