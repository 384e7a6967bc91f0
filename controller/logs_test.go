package controller_test

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"

	"drawbar/controller"
	"drawbar/internal/testkit"
)

// logProfile is the .yaml beside a log: the profile and what the rest of the
// configuration would say.
type logProfile struct {
	Line     controller.ProfileSpec `yaml:"line"`
	Sections int                    `yaml:"sections"`
	Tanks    []struct {
		Tank            int     `yaml:"tank"`
		Unit            string  `yaml:"unit"`
		ThousandKernelG float64 `yaml:"thousand_kernel_g"`
	} `yaml:"tanks"`
}

// wantLine is one line of a .want file: a report in SI, or why there is none.
type wantLine struct {
	Line     int        `json:"line"`
	Refused  string     `json:"refused,omitempty"`
	No       string     `json:"no_report,omitempty"` // blank, header
	Field    string     `json:"field,omitempty"`
	Work     *bool      `json:"work,omitempty"`
	Sections *string    `json:"sections,omitempty"`
	SpeedMPS *float64   `json:"speed_mps,omitempty"`
	Tanks    []wantTank `json:"tanks,omitempty"`
}

type wantTank struct {
	Tank   int        `json:"tank"`
	Rate   *wantValue `json:"rate,omitempty"`
	Target *wantValue `json:"target,omitempty"`
	Flow   *wantValue `json:"flow,omitempty"`
	Total  *wantValue `json:"total,omitempty"`
	Level  *wantValue `json:"level,omitempty"`
}

type wantValue struct {
	SI   float64 `json:"si"`
	Unit string  `json:"unit"`
}

// TestLogs walks testdata/logs/controller: NAME.log by the profile NAME.yaml
// gives NAME.want, one JSON line a line of the log. In a log "#" starts a
// comment and \xHH is a byte that is not text.
func TestLogs(t *testing.T) {
	t.Parallel()
	folder := filepath.Join(testkit.ModuleRoot(t), "testdata", "logs", "controller")
	logs, err := filepath.Glob(filepath.Join(folder, "*.log"))
	if err != nil || len(logs) < 6 {
		t.Fatalf("logs in %s: got %d, %v, want at least 6", folder, len(logs), err)
	}
	for _, log := range logs {
		name := strings.TrimSuffix(log, ".log")
		t.Run(filepath.Base(name), func(t *testing.T) {
			t.Parallel()
			decoder := decoderOf(t, name+".yaml")
			var got bytes.Buffer
			for i, line := range logLines(t, log) {
				report, refused := decoder.Line(line)
				text, err := json.Marshal(asWant(i+1, report, refused))
				if err != nil {
					t.Fatalf("line %q: %v", line, err)
				}
				got.Write(append(text, '\n'))
			}
			testkit.Golden(t, name+".want", got.Bytes())
		})
	}
}

func decoderOf(t *testing.T, path string) *controller.Decoder {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var p logProfile
	if err := yaml.UnmarshalWithOptions(text, &p, yaml.Strict()); err != nil {
		t.Fatalf("read %s: %v", path, err)
	}
	defaults := controller.Defaults{Sections: p.Sections}
	for _, tank := range p.Tanks {
		unit, err := controller.ParseUnit(tank.Unit)
		if err != nil {
			t.Fatalf("read %s: %v", path, err)
		}
		defaults.Tanks = append(defaults.Tanks, controller.TankDefault{Tank: tank.Tank, Unit: unit, ThousandKernelG: tank.ThousandKernelG})
	}
	profile, problems := controller.Compile(p.Line, defaults)
	for _, problem := range problems {
		t.Errorf("%s: %v", path, problem)
	}
	if profile == nil {
		t.FailNow()
	}
	return profile.NewDecoder()
}

// logLines are the lines below the comments, a blank one included.
func logLines(t *testing.T, path string) [][]byte {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	escape := regexp.MustCompile(`\\x[0-9A-Fa-f]{2}`)
	var lines [][]byte
	for line := range bytes.Lines(text) {
		if line[0] == '#' {
			continue
		}
		lines = append(lines, escape.ReplaceAllFunc(bytes.TrimSuffix(line, []byte("\n")), func(hex []byte) []byte {
			b, _ := strconv.ParseUint(string(hex[2:]), 16, 8)
			return []byte{byte(b)}
		}))
	}
	return lines
}

func asWant(number int, r controller.Report, refused *controller.LineError) wantLine {
	w := wantLine{Line: number}
	if refused != nil {
		w.Field = refused.Field
		if w.Refused = refused.Reason.String(); !refused.Reason.Rejected() {
			w.Refused, w.No = "", w.Refused
		}
		return w
	}
	if r.Has&controller.HasWork != 0 {
		w.Work = &r.Work
	}
	if r.Has&controller.HasSections != 0 {
		bits := r.Sections.String()
		w.Sections = &bits
	}
	if r.Has&controller.HasSpeed != 0 {
		w.SpeedMPS = &r.SpeedMPS
	}
	for _, t := range r.Tanks {
		value := func(has controller.Has, q controller.Quantity) *wantValue {
			if t.Has&has == 0 {
				return nil
			}
			return &wantValue{q.SI, q.Dim.SIUnit()}
		}
		w.Tanks = append(w.Tanks, wantTank{
			Tank: t.Tank, Rate: value(controller.HasRate, t.Rate), Target: value(controller.HasTarget, t.Target), Flow: value(controller.HasFlow, t.Flow),
			Total: value(controller.HasTotal, t.Total), Level: value(controller.HasLevel, t.Level),
		})
	}
	return w
}
