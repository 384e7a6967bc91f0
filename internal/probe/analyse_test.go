package probe

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"drawbar/controller"
	"drawbar/internal/config"
	"drawbar/internal/testkit"
	"drawbar/replay"
)

// recording reads a log with the times of its own sentences.
func recording(t *testing.T, path string) (lines []Line) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	log := replay.NewLogReader(f, path)
	for {
		e, err := log.Next()
		if errors.Is(err, io.EOF) {
			return lines
		}
		if err != nil {
			t.Fatal(err)
		}
		lines = append(lines, Line{At: e.At, Text: bytes.Clone(e.Line)})
	}
}

// Every real log is a receiver's, with the types that an independent count found
// (counts.json beside the logs), and with the rates, talkers and states that the
// README beside them tells of each.
func TestRealLogs(t *testing.T) {
	t.Parallel()
	folder := filepath.Join(testkit.SharedData(t), "nmea")
	raw, err := os.ReadFile(filepath.Join(folder, "counts.json"))
	if err != nil {
		t.Fatal(err)
	}
	var counts map[string]struct {
		Bad        int            `json:"sentences_bad_checksum"`
		Formatters map[string]int `json:"formatters"`
	}
	if err := json.Unmarshal(raw, &counts); err != nil {
		t.Fatal(err)
	}
	for _, tc := range []struct {
		name     string
		epochs   float64 // fixes or epochs a second
		rates    map[string]float64
		talkers  string // of all sentences
		quality  string // of the last fix
		heading  Heading
		position bool
	}{
		{"rtk-10hz-gga-rmc", 10, map[string]float64{"GGA": 10, "RMC": 10}, "GN GP", "rtk", HeadingNone, true},
		{"dual-antenna-ths-hdt", 1, map[string]float64{"HDT": 1, "THS": 1, "GGA": 1}, "GA GB GL GN GP", "float", HeadingMeasured, true},
		{"heading-cold-start-2hz", 2, map[string]float64{"GGA": 2, "HDT": 2, "VTG": 2, "ZDA": 1}, "GP", "", HeadingMeasured, true},
		{"machine-2hz-gga-rmc", 2, map[string]float64{"GGA": 2, "RMC": 2}, "GP", "dgnss", HeadingNone, true},
		{"nmea-with-binary-interleaved", 1, map[string]float64{"GGA": 1, "RMC": 1}, "BD GL GN GP", "", HeadingNone, true},
		{"bad-checksum-gga", 1, map[string]float64{"RMC": 1, "ZDA": 1}, "GP", "", HeadingNone, true},
		{"double-dollar", 1, map[string]float64{"GGA": 1, "RMC": 1}, "BD GA GN GP", "", HeadingNone, true},
		{"cold-start-odd-fractions", 1, map[string]float64{"GGA": 1, "RMC": 1}, "GP", "", HeadingNone, true},
		{"south-east-cold-start", 1, map[string]float64{"GGA": 1, "RMC": 1}, "GP", "autonomous", HeadingNone, true},
		{"multi-constellation-1hz", 1, map[string]float64{"RMC": 1, "VTG": 1, "GGA": 1, "GLL": 1, "GST": 1, "ZDA": 1}, "GA GB GL GN GP", "dgnss", HeadingNone, true},
		{"multi-constellation-5hz", 5, map[string]float64{"RMC": 5, "VTG": 5, "GGA": 5, "ZDA": 5}, "BD GL GN GP", "", HeadingNone, true},
		{"cr-cr-lf-two-gga", 1, map[string]float64{"GGA": 2, "RMC": 2, "VTG": 2, "GNS": 1}, "BD GA GL GN GP", "", HeadingNone, true},
		{"placeholder-position", 1, map[string]float64{"RMC": 1, "GGA": 1}, "GP", "autonomous", HeadingNone, true},
		{"gns-without-rmc", 1, map[string]float64{"GNS": 1, "ZDA": 1}, "GL GN GP", "", HeadingNone, true},
		{"ais-and-heading-mix", 1, map[string]float64{"GGA": 1, "RMC": 1}, "AI GP HE", "", HeadingMeasured, true},
		{"estimated-then-lost", 1, map[string]float64{"GGA": 1, "RMC": 1}, "GP", "autonomous", HeadingNone, true},
		{"drive-across-midnight", 0.5, map[string]float64{"GGA": 0.5, "RMC": 0.5}, "GP", "", HeadingNone, true},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			f := Analyse(recording(t, filepath.Join(folder, tc.name+".nmea")), Options{Address: "tcp://receiver:10110"})
			if f.Carries != CarriesReceiver {
				t.Fatalf("carries %s, want a receiver\n%s", f.Carries, f.Words())
			}
			r := f.Receiver
			want := counts[tc.name+".nmea"]
			got := map[string]int{}
			var talkers []string
			for _, s := range r.Sentences {
				got[s.Formatter] = s.Count
				for _, k := range s.Talkers {
					if !slices.Contains(talkers, k) {
						talkers = append(talkers, k)
					}
				}
				if rate, is := tc.rates[s.Formatter]; is && (s.PerS == nil || *s.PerS < 0.97*rate || *s.PerS > 1.03*rate) {
					t.Errorf("%s: got %v a second, want %v", s.Formatter, deref(s.PerS), rate)
				}
			}
			// A sentence inside binary data is one that the plain count misses.
			for name, n := range want.Formatters {
				if len(name) > 0 && (got[name] < n || got[name] > n && tc.name != "nmea-with-binary-interleaved") {
					t.Errorf("%s: got %d, want %d", name, got[name], n)
				}
			}
			slices.Sort(talkers)
			if s := strings.Join(talkers, " "); s != tc.talkers {
				t.Errorf("talkers: got %s, want %s", s, tc.talkers)
			}
			if r.BadChecksum != want.Bad && tc.name != "nmea-with-binary-interleaved" {
				t.Errorf("bad checksums: got %d, want %d", r.BadChecksum, want.Bad)
			}
			if tc.quality != "" && r.Quality != tc.quality {
				t.Errorf("quality: got %s, want %s", r.Quality, tc.quality)
			}
			if r.Heading != tc.heading {
				t.Errorf("heading: got %s, want %s", r.Heading, tc.heading)
			}
			if (r.Fixes > 0) != tc.position {
				t.Errorf("got %d fixes, want any: %v", r.Fixes, tc.position)
			}
			if r.OtherBytes != (tc.name == "nmea-with-binary-interleaved") {
				t.Errorf("other bytes: got %v", r.OtherBytes)
			}
		})
	}
}

func deref(v *float64) any {
	if v == nil {
		return nil
	}
	return *v
}

var escaped = regexp.MustCompile(`\\x([0-9A-F]{2})`)

// controllerLog is a log of testdata/logs/controller without its comments.
func controllerLog(t *testing.T, name string) (lines []Line) {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(testkit.ModuleRoot(t), "testdata", "logs", "controller", name+".log"))
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(raw)) {
		line = strings.TrimRight(line, "\n")
		if strings.HasPrefix(line, "#") {
			continue
		}
		line = escaped.ReplaceAllStringFunc(line, func(s string) string {
			c, _ := strconv.ParseUint(s[2:], 16, 8)
			return string([]byte{byte(c)})
		})
		lines = append(lines, Line{Text: []byte(line)})
	}
	return lines
}

// Each log is a controller's, with what its own header says to see in it: the
// profile kind, and values of tank 1 worked out there.
func TestControllerLogs(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		name, kind string
		reports    int
		decoded    []string // among what is decoded
		yaml       []string // in what is to be pasted
	}{
		{"keyvalue-drill", "keyvalue", 7, []string{"working, sections 0111 from the left, speed 8.0 km/h"}, []string{"kind: keyvalue"}},
		{"keyvalue-two-products", "keyvalue", 5, []string{"tank 3: rate 100 kg/ha"}, []string{"kind: keyvalue"}},
		// 10 gal/ac = 93.539562 l/ha, 12 gal/min = 45.4249 l/min, 5 mph = 8.05 km/h: the log's header.
		{"delimited-sprayer", "delimited", 6, []string{"tank 1: rate 93.54 l/ha, flow 45.425 l/min, level 2044.1 l", "working, sections 11111100 from the left, speed 8.0 km/h"},
			[]string{`separator: ";"`, "header: true", `{column: "GPA", field: rate, tank: 1, unit: gal/ac}`, `{column: "Sections", field: sections, format: hex, first: left}`, `{column: "Boom", field: work}`}},
		{"delimited-spreader", "delimited", 5, nil, []string{"separator: space", "checksum: sum8", "tank_from: 2", "{column: 5, field: sections, format: decimal, first: left}"}},
		// 31500 seeds/ac = 77838 seeds/ha.
		{"pattern-planter", "pattern", 2, []string{"tank 1: rate 77838 seeds/ha"}, []string{"checksum: crc16-ccitt", `pattern: '^@P(?P<n1>[\d.]+) POP=(?P<n2>[\d.]+)$'`}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			f := Analyse(controllerLog(t, tc.name), Options{Address: "/dev/ttyUSB1", Baud: 9600})
			if f.Carries != CarriesController || f.Controller.Kind != tc.kind || f.Controller.Reports != tc.reports {
				t.Fatalf("carries %s, got %+v; want kind %s, %d reports\n%s", f.Carries, f.Controller, tc.kind, tc.reports, f.Words())
			}
			for _, want := range tc.decoded {
				if !slices.Contains(f.Controller.Decoded, want) {
					t.Errorf("decoded %q, want %q", f.Controller.Decoded, want)
				}
			}
			for _, want := range append(tc.yaml, "baud: 9600") {
				if !strings.Contains(f.YAML, want) {
					t.Errorf("to paste:\n%s\nwant %q in it", f.YAML, want)
				}
			}
			pasted(t, f)
		})
	}
}

// pasted reads what is to be pasted as a configuration, and with it the lines
// once more: the profile that drawbar then has reads as many.
func pasted(t *testing.T, f Finding) config.File {
	t.Helper()
	file, err := config.Parse("pasted.yaml", []byte(f.YAML), nil)
	if err != nil {
		t.Fatalf("what is to be pasted is refused: %v\n%s", err, f.YAML)
	}
	return file
}

// stream makes n lines that arrive at a steady pace.
func stream(n int, every time.Duration, line func(i int) string) (lines []Line) {
	at := time.Date(2026, 5, 14, 13, 5, 10, 0, time.UTC)
	for i := range n {
		lines = append(lines, Line{At: at.Add(time.Duration(i) * every), Text: []byte(line(i))})
	}
	return lines
}

func TestPorts(t *testing.T) {
	t.Parallel()
	noise := rand.NewChaCha8([32]byte{7})
	r := rand.New(rand.NewPCG(3, 4))
	spec := controller.ProfileSpec{Kind: "pattern", Pattern: `^R(?P<n>\d+)$`, Columns: []controller.ColumnSpec{{Column: "n", Field: "rate", Tank: 1, Unit: "kg/ha"}}}
	profile, problems := controller.Compile(spec, controller.Defaults{})
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	serial := Options{Address: "/dev/ttyUSB0", Serial: true, Searched: true, Baud: 9600, Listened: 5 * time.Second}
	for _, tc := range []struct {
		name    string
		lines   []Line
		o       Options
		carries Carries
		words   []string
		yaml    string
	}{
		{"silence on a serial port", nil, serial, CarriesSilence, []string{"is silent", "cable", "ls -l /dev/serial/by-id"}, ""},
		{"silence on the network", nil, Options{Address: "udp://:10110", Listened: time.Second}, CarriesSilence, []string{"firewall"}, ""},
		{"not there", nil, Options{Address: "/dev/ttyUSB9", Serial: true, Listened: time.Second, PortError: "/dev/ttyUSB9 is not there"}, CarriesSilence, []string{"is not there"}, ""},
		{"noise at every rate", nil, Options{Address: "/dev/ttyUSB0", Serial: true, Searched: true, NotFound: true, Bytes: 5000, Listened: time.Second}, CarriesNoise, []string{"none of the usual baud rates"}, ""},
		{"noise at a given rate", stream(20, time.Second, func(int) string {
			b := make([]byte, 40)
			noise.Read(b)
			return string(b)
		}), Options{Address: "/dev/ttyUSB0", Serial: true, Baud: 4800, Bytes: 800, Listened: time.Second}, CarriesNoise, []string{"leave out --baud"}, ""},
		{"keyvalue at 5 Hz", stream(25, 200*time.Millisecond, func(i int) string { return fmt.Sprintf("work=1 sections=1101 tank.1.rate=%dkg/ha", 100+i) }),
			serial, CarriesController, []string{"25 of 25 are read, 5 a second", "tank 1: rate 124 kg/ha", "sections 1101"}, "kind: keyvalue"},
		{"columns without a header", stream(25, 200*time.Millisecond, func(i int) string {
			return fmt.Sprintf("%02d:%02d,%d,%06b,%.1f,112.0,%.1f", i/60, i%60, i/20, 0b110111, 105+14*r.Float64(), 1000+float64(i)*1.5)
		}), serial, CarriesController, []string{"kind delimited", "sections 110111", "rises from"}, "{column: 4, field: rate, tank: 1}"},
		{"other keys", stream(25, time.Second, func(i int) string { return fmt.Sprintf("fan=%d mode=auto", i) }), serial, CarriesText, []string{"none of the keys", "fan=24"}, ""},
		{"text", stream(25, time.Second, func(i int) string { return strings.Repeat("ready ", i%7+1) }), serial, CarriesText, []string{"manual"}, ""},
		{"a configured profile", stream(25, time.Second, func(i int) string { return fmt.Sprintf("R%d", 100+i) }),
			Options{Address: "/dev/ttyUSB0", Serial: true, Baud: 9600, Spec: &spec, Profile: profile}, CarriesController, []string{"configured line profile (pattern) reads 25 of 25", "rate 124 kg/ha"}, "controller:"},
		{"a configured profile that refuses", stream(25, time.Second, func(int) string { return "ready, set" }),
			Options{Address: "/dev/ttyUSB0", Serial: true, Baud: 9600, Spec: &spec, Profile: profile}, CarriesText, []string{"configured line profile refuses every line", "no_match"}, ""},
		{"a receiver's sentences, all damaged", stream(25, time.Second, func(int) string { return "$GPGGA,130510.00,,,,,0,00,,,M,,M,,*00" }), serial, CarriesReceiver, []string{"wrong checksum"}, "gnss:"},
		{"a controller that seals its lines as a receiver does", stream(25, time.Second, func(i int) string { return sealed(fmt.Sprintf("PXRC,%06b,%.1f,112.0", 0b110111, 105+14*r.Float64())) }),
			serial, CarriesController, []string{"sections 110111"}, "controller:"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			f := Analyse(tc.lines, tc.o)
			words := f.Words()
			if f.Carries != tc.carries {
				t.Fatalf("carries %s, want %s\n%s", f.Carries, tc.carries, words)
			}
			for _, want := range tc.words {
				if !strings.Contains(words, want) {
					t.Errorf("want %q in:\n%s", want, words)
				}
			}
			if !strings.Contains(f.YAML, tc.yaml) || (f.YAML == "") != (tc.yaml == "") {
				t.Errorf("to paste:\n%s\nwant %q in it", f.YAML, tc.yaml)
			}
			pasted(t, f)
			if text, err := json.Marshal(f); err != nil || !json.Valid(text) {
				t.Errorf("as JSON: %v", err)
			}
		})
	}
}

// A receiver that is listened to for five seconds, its sentences spread over each
// second as a slow line spreads them: the rates are the receiver's own.
func TestRatesOfLiveLines(t *testing.T) {
	t.Parallel()
	var lines []Line
	at := time.Date(2026, 5, 14, 13, 5, 10, 0, time.UTC)
	for i := range 25 {
		clock := at.Add(time.Duration(i) * 200 * time.Millisecond)
		arrival := clock.Add(time.Duration(30+i%7*8) * time.Millisecond)
		for k, body := range []string{
			"GNGGA," + clock.Format("150405.00") + ",5322.1234,N,00001.2345,W,4,12,0.7,61.2,M,46.0,M,1.0,0001",
			"GNRMC," + clock.Format("150405.00") + ",A,5322.1234,N,00001.2345,W,5.40,181.2,140526,,,R",
			"GNHDT,,T",
		} {
			if i == 0 && k == 0 {
				continue // listening began in the middle of an epoch
			}
			lines = append(lines, Line{At: arrival.Add(time.Duration(k) * 20 * time.Millisecond), Text: []byte(sealed(body))})
		}
		if i%5 == 0 {
			lines = append(lines, Line{At: arrival.Add(70 * time.Millisecond), Text: []byte(sealed("GPGSV,1,1,00"))})
		}
	}
	f := Analyse(lines, Options{Address: "/dev/ttyUSB0", Serial: true, Baud: 38400, Listened: 5 * time.Second})
	r := f.Receiver
	if r == nil || len(r.Sentences) != 4 || *r.Sentences[0].PerS != 5 || *r.Sentences[1].PerS != 1 || *r.Sentences[2].PerS != 5 || *r.Sentences[3].PerS != 5 ||
		*r.FixesPerS != 5 || r.Quality != "rtk" || r.Heading != HeadingEmpty || r.Time == nil {
		t.Errorf("got\n%s\nwant GGA, HDT and RMC 5 a second, GSV 1, RTK, an empty heading, a date", f.Words())
	}
}

func sealed(body string) string {
	var sum byte
	for i := range len(body) {
		sum ^= body[i]
	}
	return fmt.Sprintf("$%s*%02X", body, sum)
}

// Whatever bytes come, there is a finding, and what is to be pasted is a
// configuration.
func FuzzAnalyse(f *testing.F) {
	f.Add([]byte("$GPHDT,274.07,T*03\nwork=1\n"), uint8(3))
	f.Add([]byte("1,2,3\n1,2,4\na;b;c\n"), uint8(1))
	f.Add([]byte("@P1 POP=33000 TGT=32\n@P2 POP=33000 TGT=32\n"), uint8(2))
	f.Add([]byte("A 'x' 1\nA 'x' 2\n\x00\xff*00"), uint8(0))
	f.Fuzz(func(t *testing.T, b []byte, times uint8) {
		var lines []Line
		for range min(times, 4) + 1 {
			for line := range bytes.Lines(b) {
				lines = append(lines, Line{Text: bytes.TrimRight(line, "\r\n")})
			}
		}
		found := Analyse(lines, Options{Address: "/dev/ttyUSB0", Baud: 9600, Bytes: uint64(len(b))})
		if _, err := json.Marshal(found); err != nil {
			t.Fatal(err)
		}
		if found.Carries == "" || found.Words() == "" {
			t.Fatalf("nothing said of %q", b)
		}
		pasted(t, found)
	})
}
