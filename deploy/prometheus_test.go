package deploy

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"drawbar/internal/testkit"

	"github.com/goccy/go-yaml"
)

func TestPromtoolCheck(t *testing.T) {
	t.Parallel()
	tool := testkit.Tool(t, "promtool")
	run(t, tool, "check", "config", "prometheus/prometheus.yml")
	run(t, tool, "check", "rules", "prometheus/drawbar.rules.yml")
}

func TestPromtoolRules(t *testing.T) {
	t.Parallel()
	run(t, testkit.Tool(t, "promtool"), "test", "rules", "prometheus/drawbar.rules_test.yml")
}

// Every alert is tested both ways: it is raised, and it is quiet after that in
// the same story.
func TestEveryAlertIsRaisedAndCleared(t *testing.T) {
	t.Parallel()
	var rules struct {
		Groups []struct {
			Rules []struct {
				Alert       string
				Labels      map[string]string
				Annotations map[string]string
			}
		}
	}
	var tests struct {
		Tests []struct {
			AlertRuleTest []struct {
				Alertname string
				ExpAlerts []any `yaml:"exp_alerts"`
			} `yaml:"alert_rule_test"`
		}
	}
	for path, to := range map[string]any{"prometheus/drawbar.rules.yml": &rules, "prometheus/drawbar.rules_test.yml": &tests} {
		if err := yaml.Unmarshal([]byte(read(t, path)), to); err != nil {
			t.Fatalf("%s: %v", path, err)
		}
	}
	cleared := map[string]bool{}
	for _, story := range tests.Tests {
		raised := map[string]bool{}
		for _, at := range story.AlertRuleTest {
			if len(at.ExpAlerts) > 0 {
				raised[at.Alertname] = true
			} else if raised[at.Alertname] {
				cleared[at.Alertname] = true
			}
		}
	}
	for _, g := range rules.Groups {
		for _, r := range g.Rules {
			if !cleared[r.Alert] {
				t.Errorf("%s: no test raises and then clears it", r.Alert)
			}
			if !slices.Contains([]string{"note", "warning", "critical"}, r.Labels["severity"]) || !strings.Contains(r.Annotations["summary"], ": ") {
				t.Errorf("%s: got %v %v, want a severity of the daemon's and a summary that says what is wrong: what to do", r.Alert, r.Labels, r.Annotations)
			}
		}
	}
	if len(cleared) == 0 {
		t.Error("no alerts found")
	}
}

// server is a running Prometheus that scrapes one daemon.
type server struct {
	address string
	target  string // what it scrapes, host:port
}

// startPrometheus runs one on loopback with the delivered configuration, except
// for the address that it scrapes and its pace.
func startPrometheus(t *testing.T, target string) server {
	t.Helper()
	tool := testkit.Tool(t, "prometheus")
	dir := t.TempDir()
	rules, err := filepath.Abs("prometheus/drawbar.rules.yml")
	if err != nil {
		t.Fatal(err)
	}
	text := read(t, "prometheus/prometheus.yml")
	for _, change := range [][2]string{
		{"[127.0.0.1:8080]", "['" + target + "']"},
		{"scrape_interval: 5s", "scrape_interval: 250ms"},
		{"scrape_timeout: 2s", "scrape_timeout: 250ms"},
		{"evaluation_interval: 5s", "evaluation_interval: 500ms"},
		{"- drawbar.rules.yml", "- " + rules},
	} {
		if strings.Count(text, change[0]) != 1 {
			t.Fatalf("prometheus.yml: want %q once", change[0])
		}
		text = strings.Replace(text, change[0], change[1], 1)
	}
	s := server{address: freeAddress(t), target: target}
	cmd := exec.Command(tool, "--config.file="+write(t, filepath.Join(dir, "prometheus.yml"), text),
		"--storage.tsdb.path="+filepath.Join(dir, "data"), "--web.listen-address="+s.address, "--log.level=warn")
	var log bytes.Buffer
	cmd.Stdout, cmd.Stderr = &log, &log
	cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	t.Cleanup(func() {
		_ = cmd.Process.Signal(syscall.SIGTERM)
		<-ended
		if t.Failed() {
			t.Logf("prometheus said:\n%s", &log)
		}
	})
	until(t, func() error {
		select {
		case err := <-ended:
			ended <- err
			return fatal{fmt.Errorf("prometheus ended: %v", err)}
		default:
		}
		_, err := s.get("/-/ready", nil)
		return err
	})
	return s
}

// freeAddress is one on loopback that nobody listens on.
func freeAddress(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

// fatal is an error that no waiting mends.
type fatal struct{ error }

// patience is for a program that starts, scrapes and evaluates on a busy machine.
const patience = 60 * time.Second

// until asks again and again until there is no error.
func until(t *testing.T, ask func() error) {
	t.Helper()
	again := time.NewTicker(50 * time.Millisecond)
	defer again.Stop()
	for end := time.Now().Add(patience); ; <-again.C {
		err := ask()
		if err == nil {
			return
		}
		if _, never := err.(fatal); never || time.Now().After(end) {
			t.Fatal(err)
		}
	}
}

func (s server) get(path string, query url.Values) ([]byte, error) {
	resp, err := http.Get("http://" + s.address + path + "?" + query.Encode())
	if err != nil {
		return nil, err
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err == nil && resp.StatusCode != http.StatusOK {
		err = fmt.Errorf("%s: %s: %s", path, resp.Status, b)
		if resp.StatusCode == http.StatusBadRequest {
			err = fatal{err} // it does not parse
		}
	}
	return b, err
}

// data is what a query gives now: one value a series.
func (s server) data(query string) ([]string, error) {
	b, err := s.get("/api/v1/query", url.Values{"query": {query}})
	if err != nil {
		return nil, err
	}
	var answer struct {
		Data struct {
			Result []struct{ Value [2]any }
		}
	}
	if err := json.Unmarshal(b, &answer); err != nil {
		return nil, fmt.Errorf("%s: %w in %s", query, err, b)
	}
	var values []string
	for _, r := range answer.Data.Result {
		values = append(values, fmt.Sprint(r.Value[1]))
	}
	return values, nil
}

// metricNames are the metrics that a text names, without what Prometheus appends
// to those of a histogram.
func metricNames(text string) []string {
	var names []string
	for _, name := range regexp.MustCompile(`\bdrawbar_[a-z_]+\b`).FindAllString(text, -1) {
		for _, part := range []string{"_bucket", "_sum"} {
			name = strings.TrimSuffix(name, part)
		}
		names = append(names, name)
	}
	slices.Sort(names)
	return slices.Compact(names)
}

// The rules name only metrics that there are, and a real server evaluates them
// all; at a machine in good order none of them is raised.
func TestRulesOnServer(t *testing.T) {
	t.Parallel()
	s := startPrometheus(t, madeUp(t))
	served := served(t, s.target)
	for _, name := range metricNames(read(t, "prometheus/drawbar.rules.yml")) {
		if !slices.Contains(served, name) {
			t.Errorf("drawbar.rules.yml: there is no metric %s", name)
		}
	}
	until(t, func() error {
		if values, err := s.data("drawbar_build_info"); err != nil || len(values) == 0 {
			return fmt.Errorf("nothing scraped from %s: %v", s.target, err)
		}
		b, err := s.get("/api/v1/rules", nil)
		if err != nil {
			return err
		}
		var answer struct {
			Data struct {
				Groups []struct {
					Rules []struct{ Name, Health, LastError, State string }
				}
			}
		}
		if err := json.Unmarshal(b, &answer); err != nil {
			return err
		}
		n := 0
		for _, g := range answer.Data.Groups {
			for _, r := range g.Rules {
				n++
				if r.Health == "err" {
					return fatal{fmt.Errorf("%s: %s", r.Name, r.LastError)}
				}
				if r.Health != "ok" || r.State != "inactive" {
					return fmt.Errorf("%s: health %s, state %s", r.Name, r.Health, r.State)
				}
			}
		}
		if n < 10 {
			return fmt.Errorf("got %d rules", n)
		}
		return nil
	})
}
