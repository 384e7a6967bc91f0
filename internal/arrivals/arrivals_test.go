package arrivals

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"drawbar/controller"
	"drawbar/internal/config"
	"drawbar/internal/live"
	"drawbar/replay"

	"pgregory.net/rapid"
)

var noon = time.Date(2026, 5, 14, 12, 0, 0, 0, time.UTC)

func newLog() *Log {
	f := config.Default()
	return New(&f)
}

// sum ends a sentence with its checksum: the XOR of what is between $ and * (NMEA
// 0183).
func sum(body string) string {
	x := byte(0)
	for i := range len(body) {
		x ^= body[i]
	}
	return fmt.Sprintf("$%s*%02X", body, x)
}

func (l *Log) gnss(at time.Time, text string) {
	l.Take(replay.Event{At: at, Stream: replay.StreamGNSS, Line: []byte(text)})
}

func (l *Log) control(at time.Time, text string) {
	l.Take(replay.Event{At: at, Stream: replay.StreamController, Line: []byte(text)})
}

// drive takes 20 s of a receiver at 10 Hz and a controller at 2 Hz.
func drive(l *Log) (end time.Time) {
	for i := range 200 {
		at := noon.Add(time.Duration(i) * 100 * time.Millisecond)
		clock := at.Format("150405.00")
		l.gnss(at, sum("GPGGA,"+clock+",5318.00000,N,00006.00000,W,4,14,0.7,60.0,M,47.0,M,1.0,0000"))
		l.gnss(at, sum("GPRMC,"+clock+",A,5318.00000,N,00006.00000,W,5.4,271.0,140526,,,R"))
		l.gnss(at, sum("GPVTG,271.0,T,,M,5.40,N,10.00,K,R"))
		if i%5 == 0 {
			l.control(at, "work=1 sections=1101 tank.1.rate=112kg/ha tank.1.level=800kg")
		}
	}
	return noon.Add(19900 * time.Millisecond)
}

func ports(up bool) []live.SourceState {
	return []live.SourceState{
		{Name: "gnss", Stream: "gnss", Address: "/dev/ttyUSB0", Up: up, Baud: 38400},
		{Name: "controller", Stream: "controller", Address: "tcp://192.0.2.7:4001", Up: up},
	}
}

func has(t *testing.T, what string, all []string, want string) {
	t.Helper()
	if !slices.ContainsFunc(all, func(s string) bool { return strings.Contains(s, want) }) {
		t.Errorf("%s: got %q, want %q", what, all, want)
	}
}

func TestWhatArrives(t *testing.T) {
	t.Parallel()
	l := newLog()
	end := drive(l)
	got := l.Sources(end.Add(100*time.Millisecond), ports(true))
	g, c := got[0], got[1]
	if g.Name != "gnss" || *g.RateHz < 29 || *g.RateHz > 31 || *g.AgeS != 0.1 || len(g.Lines) != 50 || len(g.Trouble) != 0 {
		t.Errorf("receiver: got %v lines/s, %v s old, %d lines, trouble %q", *g.RateHz, *g.AgeS, len(g.Lines), g.Trouble)
	}
	has(t, "receiver", g.Words, "30 lines a second; GGA, RMC, VTG with good checksums")
	has(t, "receiver", g.Words, "position 53.30000 N 0.10000 W, RTK fixed: a few centimetres, 14 satellites, 10 fixes a second")
	if *c.RateHz != 2 || len(c.Lines) != 40 || len(c.Trouble) != 0 {
		t.Errorf("controller: got %v lines/s, %d lines, trouble %q", *c.RateHz, len(c.Lines), c.Trouble)
	}
	has(t, "controller", c.Words, "2 lines a second; the line profile (keyvalue) reads 40 of 40")
	has(t, "controller", c.Words, "tank 1: rate 112 kg/ha, level 800 kg")
	last := c.Lines[39]
	if !last.OK || last.Decoded != "working, sections 1101 from the left; tank 1: rate 112 kg/ha, level 800 kg" || !last.Time.Equal(noon.Add(19500*time.Millisecond)) {
		t.Errorf("controller's last line: got %+v", last)
	}
	decoded := []string{}
	for _, v := range g.Lines[47:] {
		decoded = append(decoded, v.Decoded)
	}
	if want := []string{
		"fix 53.30000 N 0.10000 W, RTK, 14 satellites, HDOP 0.7",
		"fix 53.30000 N 0.10000 W, RTK, 10.0 km/h, course 271.0°, 2026-05-14 12:00:19 UTC", // 5.4 knots of 1852 m
		"10.0 km/h, course 271.0°",
	}; !slices.Equal(decoded, want) {
		t.Errorf("sentences: got %q, want %q", decoded, want)
	}
}

func TestTrouble(t *testing.T) {
	t.Parallel()
	stale := func(l *Log) time.Time { return drive(l).Add(12 * time.Second) }
	swapped := func(l *Log) time.Time {
		for i := range 20 {
			l.control(noon.Add(time.Duration(i)*time.Second), sum("GPGGA,120000.00,5318.0,N,00006.0,W,4,14,0.7,60.0,M,47.0,M,1.0,0000"))
			l.gnss(noon.Add(time.Duration(i)*time.Second), "work=1 tank.1.rate=112kg/ha")
		}
		return noon.Add(20 * time.Second)
	}
	damaged := func(l *Log) time.Time {
		for i := range 20 {
			at := noon.Add(time.Duration(i) * time.Second)
			l.gnss(at, sum("GPGGA,120000.00,5318.0,N,00006.0,W,4,14,0.7,60.0,M,47.0,M,1.0,0000"))
			l.gnss(at, "$GPGGA,120000.00,5318.0,N,00006.0,W,4,14,0.7,60.0,M,47.0,M,1.0,0000*00")
			l.control(at, "work=1 tank.1.rate=112kg/ha")
			l.control(at, "work=1 tank.1.rate=11x2kg/ha")
		}
		return noon.Add(20 * time.Second)
	}
	foreign := func(l *Log) time.Time {
		for i := range 20 {
			l.gnss(noon.Add(time.Duration(i)*time.Second), "\xb5\x62\x01\x07\x5c\x00\x8f\x11\x02\xff\xfe\x81\x90")
			l.control(noon.Add(time.Duration(i)*time.Second), fmt.Sprintf("%d;1;112.5;800", i))
		}
		return noon.Add(20 * time.Second)
	}
	none := func(*Log) time.Time { return noon }
	for _, c := range []struct {
		name                 string
		fill                 func(*Log) time.Time
		up                   bool
		receiver, controller string
	}{
		{"silent from the start", none, true, "nothing has come in the last minute", "nothing has come in the last minute"},
		{"silent now", stale, true, "nothing has come for 12 s", "nothing has come for 12 s"},
		{"not open", none, false, "the port is not open yet", "the port is not open yet"},
		{"swapped", swapped, true, "swap gnss.source and controller.source", "swap gnss.source and controller.source"},
		{"damaged", damaged, true, "20 sentences had a wrong checksum", "20 of 40 lines could not be read"},
		{"foreign", foreign, true, "binary protocol", "the configured line profile reads none of the lines"},
	} {
		l := newLog()
		got := l.Sources(c.fill(l), ports(c.up))
		has(t, c.name+", receiver", got[0].Trouble, c.receiver)
		has(t, c.name+", controller", got[1].Trouble, c.controller)
		for _, s := range got {
			for _, line := range s.Lines {
				if line.OK != (line.Reason == "") {
					t.Errorf("%s: %+v", c.name, line)
				}
			}
		}
	}
	lost := ports(false)
	lost[0].LastError = "open /dev/ttyUSB0: no such file or directory"
	has(t, "lost", newLog().Sources(noon, lost)[0].Trouble, "no such file or directory")
}

func TestSentence(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		sum("GPGGA,120000.00,,,,,0,00,99.9,,M,,M,,"): "no position",
		sum("GPVTG,,T,,M,,N,,K,N"):                   "no speed",
		sum("GPHDT,123.4,T"):                         "heading 123.4°",
		sum("GPHDT,,T"):                              "no heading",
		sum("GPZDA,120001.00,14,05,2026,00,00"):      "2026-05-14 12:00:01 UTC",
		sum("GPGSV,1,1,00"):                          "satellites; not needed",
		sum("PXYZ,1,2"):                              "not used",
		sum("GPVTG,90.0,T,,M,10.0,N,,K,A"):           "18.5 km/h, course 90.0°", // 10 knots of 1852 m
	} {
		if got := sentence(line{noon, []byte(text), false}); !got.OK || got.Decoded != want {
			t.Errorf("%s: got %+v, want %q", text, got, want)
		}
	}
	for text, want := range map[string]string{
		"$GPHDT,123.4,T*00": "the checksum is wrong", "hello": "no sentence", "\x00\xff": "no sentence", "$GPGGA,1": "no sentence",
	} {
		got := sentence(line{noon, []byte(text), false})
		if got.OK || !strings.Contains(got.Reason, want) {
			t.Errorf("%q: got %+v, want %q", text, got, want)
		}
	}
	if got := sentence(line{noon, []byte("a\x00\xffb"), true}); got.Text != `a\x00\xFFb…` {
		t.Errorf("bytes that are no text: got %q", got.Text)
	}
}

const columns = `{"kind":"delimited","separator":";","columns":[{"column":2,"field":"work"},{"column":3,"field":"rate","tank":1,"unit":"kg/ha","scale":2.5,"offset":-1},{"column":"4","field":"level","tank":1}],"units":{"level":"kg, l"}}`

func TestTry(t *testing.T) {
	t.Parallel()
	l := newLog()
	for i := range 30 {
		l.control(noon.Add(time.Duration(i)*time.Second), fmt.Sprintf("%d;1;40.5;800", i))
	}
	l.control(noon.Add(31*time.Second), "31;1;?;800")
	got := l.Try([]byte(columns))
	if got.Reports != 30 || got.Rejected != 1 || len(got.Lines) != 31 || len(got.Faults) > 0 {
		t.Fatalf("got %d read, %d rejected, %d lines, faults %v", got.Reports, got.Rejected, len(got.Lines), got.Faults)
	}
	if first, last := got.Lines[0], got.Lines[30]; first.Decoded != "working; tank 1: rate 100.25 kg/ha, level 800 kg" || last.OK || !strings.Contains(last.Reason, `"?"`) {
		t.Errorf("got %+v and %+v", first, last) // 40.5 * 2.5 - 1
	}
	for text, want := range map[string]string{
		`{"kind":"telepathy"}`: "kind", `{"kind":"delimited"}`: "columns", `{"colour":"red"}`: "colour", `[]`: "", `{`: "", ``: "",
		`{"kind":"delimited","columns":[{"column":1,"field":"rate","tank":1,"unit":"furlong"}]}`: "columns[0].unit",
	} {
		got := l.Try([]byte(text))
		if len(got.Faults) == 0 || got.Faults[0].Path != want || got.YAML != "" || len(got.Lines) > 0 {
			t.Errorf("%s: got %+v, want a fault at %q", text, got, want)
		}
	}
}

// A profile that was tried and pasted is the same profile.
func TestPastedIsTheSame(t *testing.T) {
	t.Parallel()
	for _, text := range []string{
		`{}`, columns,
		`{"kind":"delimited","separator":"space","header":true,"checksum":"xor8","columns":[{"column":"Rate 1 (kg/ha)","field":"rate","tank_from":"No","unit":"kg/ha"},{"column":"on","field":"sections","format":"hex","first":"right"}]}`,
		`{"kind":"pattern","pattern":"^it's (?P<r>[\\d.]+) \\\"x\\\"$","columns":[{"column":"r","field":"rate","tank":2,"unit":"seeds/m2"}]}`,
		`{"kind":"delimited","separator":"\t","columns":[{"column":7,"field":"flow","tank":1,"unit":"l/min"}],"units":{"rate":"kg/ha, l/ha","speed":"km/h"}}`,
	} {
		spec, faults := config.LineSpec([]byte(text))
		if faults.Len() > 0 {
			t.Fatalf("%s: %v", text, faults.List())
		}
		yaml := newLog().Try([]byte(text))
		if len(yaml.Faults) > 0 {
			t.Errorf("%s: %v", text, yaml.Faults)
			continue
		}
		f, err := config.Parse("config.yaml", []byte(yaml.YAML), nil)
		if err != nil {
			t.Errorf("%s: pasted:\n%s%v", text, yaml.YAML, err)
			continue
		}
		if got, want := fmt.Sprintf("%+v", plain(f.Controller.Line)), fmt.Sprintf("%+v", plain(spec)); got != want {
			t.Errorf("pasted:\n%s\ngot  %s\nwant %s", yaml.YAML, got, want)
		}
	}
}

// The names of columns came long ago: they are kept.
func TestHeadingIsKept(t *testing.T) {
	t.Parallel()
	const named = `{"kind":"delimited","header":true,"columns":[{"column":"rate1","field":"rate","tank":1,"unit":"kg/ha"}]}`
	l := newLog()
	l.control(noon, "time,rate1")
	for i := range 3000 {
		l.control(noon.Add(time.Duration(i)*100*time.Millisecond), fmt.Sprintf("%d,112", i))
	}
	if got := l.Try([]byte(named)); got.Reports != 601 || got.Rejected != 0 {
		t.Errorf("got %d read and %d rejected of the last minute", got.Reports, got.Rejected)
	}
	l.Clear()
	l.control(noon, "1,112")
	if got := l.Try([]byte(named)); got.Reports != 0 || got.Rejected != 1 {
		t.Errorf("after all was forgotten: got %d read, %d rejected", got.Reports, got.Rejected)
	}
}

// A ring keeps the latest lines that fit its bounds, and nothing of them is changed
// by what comes later.
func TestRingKeepsTheLatest(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var r ring
		var all []line
		at := noon
		most := rapid.SampledFrom([]int{10, 200, 9000}).Draw(t, "longest")
		for i := range rapid.IntRange(1, 2500).Draw(t, "lines") {
			text := bytes.Repeat([]byte{byte('a' + i%26)}, (i*7919)%most)
			at = at.Add(time.Duration(i%97) * time.Millisecond)
			r.add(at, text)
			all = append(all, line{at, text[:min(len(text), mostLine)], len(text) > mostLine})
		}
		got := r.copied(at)
		if len(got) == 0 || len(got) > keepLines {
			t.Fatalf("%d lines are kept", len(got))
		}
		size := 0
		for i, l := range got {
			want := all[len(all)-len(got)+i]
			if !l.at.Equal(want.at) || !bytes.Equal(l.text, want.text) || l.cut != want.cut {
				t.Fatalf("line %d of %d: got %v %.20q, want %v %.20q", i, len(got), l.at, l.text, want.at, want.text)
			}
			size += len(l.text)
		}
		if size > keepBytes || at.Sub(got[0].at) > keepFor {
			t.Fatalf("%d bytes, %v", size, at.Sub(got[0].at))
		}
		if len(got) < len(all) { // the next one would not fit
			next := all[len(all)-len(got)-1]
			if len(got) < keepLines && at.Sub(next.at) <= keepFor && size+2*mostLine < keepBytes-most {
				t.Fatalf("%d lines of %d bytes are kept, and the one before is not", len(got), size)
			}
		}
	})
}

func TestClockSetBack(t *testing.T) {
	t.Parallel()
	l := newLog()
	l.control(noon.AddDate(3, 0, 0), "work=1")
	l.control(noon, "work=0")
	if got := l.Try([]byte(`{}`)); got.Reports != 1 || got.Lines[0].Decoded != "not working" {
		t.Errorf("got %+v, want the line after the clock was set back alone", got)
	}
}

func FuzzLines(f *testing.F) {
	for _, s := range []string{"", "$GPGGA,*00", sum("GPZDA,1,2,3,4"), "work=1", "a;b\x00", sum("GPRMC,120000,A,5318,N,6,W,,,140526,,")} {
		f.Add([]byte(s), []byte(columns))
	}
	f.Fuzz(func(t *testing.T, text, profile []byte) {
		l := newLog()
		for i := range 3 {
			l.gnss(noon.Add(time.Duration(i)*time.Second), string(text))
			l.control(noon.Add(time.Duration(i)*time.Second), string(text))
		}
		for _, s := range l.Sources(noon.Add(3*time.Second), ports(true)) {
			if len(s.Lines) != 3 {
				t.Errorf("%s: %d lines of 3", s.Name, len(s.Lines))
			}
		}
		got := l.Try(profile)
		if got.Reports+got.Rejected > 3 || len(got.Faults) > 0 && got.YAML != "" {
			t.Errorf("got %+v", got)
		}
	})
}

// Taking costs no memory; a second has 500 lines of a receiver at 50 Hz.
func BenchmarkTake(b *testing.B) {
	l := newLog()
	e := replay.Event{Stream: replay.StreamGNSS, Line: []byte(sum("GPGGA,120000.00,5318.00000,N,00006.00000,W,4,14,0.7,60.0,M,47.0,M,1.0,0000")), At: noon}
	b.ReportAllocs()
	for b.Loop() {
		e.At = e.At.Add(2 * time.Millisecond)
		l.Take(e)
	}
}

func BenchmarkSources(b *testing.B) {
	l := newLog()
	end := drive(l)
	b.ReportAllocs()
	for b.Loop() {
		l.Sources(end, ports(true))
	}
}

// plain is a profile without what is only written differently.
func plain(s controller.ProfileSpec) (out []any) {
	if s.Kind == "" {
		s.Kind = "keyvalue"
	}
	for _, c := range s.Columns {
		scale := 1.0
		if c.Scale != nil {
			scale = *c.Scale
		}
		c.Scale = nil
		out = append(out, c, scale)
	}
	s.Columns = nil
	return append(out, s)
}
