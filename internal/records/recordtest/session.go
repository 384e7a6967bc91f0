// Package recordtest makes recorded sessions for tests: real files of straight drives
// whose areas, times and amounts follow by hand.
//
//	s := recordtest.Session{Name: "000001-20260514T080000Z", Start: start, Config: config,
//		Jobs: []recordtest.Job{{Say: []string{`{"field":"Mill Piece"}`}, Passes: 2, PassS: 60, SpeedMPS: 2, SpacingM: 12, Report: "tank.1.rate=100kg/ha"}}}
//	err := s.Write(dir)
//
// The antenna drives north and south in turn, SpacingM to the east each time. A fix and
// a report come every second at the same moment, so that a pass of n seconds works
// n x speed metres.
package recordtest

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"time"

	"drawbar/coverage/plane"
	"drawbar/replay"
)

// Session is a session to be made.
type Session struct {
	Name   string // of the file, without .mcap
	Start  time.Time
	Config string // YAML, as recorded; "": none
	Jobs   []Job
	LatDeg float64 // where the first job begins; 0: 53.35
	LonDeg float64
}

// Job is passes side by side.
type Job struct {
	Say      []string // operator lines at its start
	Passes   int
	PassS    int // seconds a pass
	TurnS    int // seconds of each turn between passes, at least 1
	SpeedMPS float64
	SpacingM float64
	EastM    float64 // of the first pass from the session's place
	NorthM   float64
	Report   string         // of the controller while working, behind work=1
	Later    map[int]string // another report from this second of work on
	SayAt    map[int]string // an operator line at this second of work
	PauseS   int            // standing before the job
}

// Width12 is a configuration with a bar of 12 m right below the antenna.
const Width12 = "implement: {name: 12 m spreader, operation: spreading, antenna_to_hitch_m: 0, mount: rigid, hitch_to_bar_m: 0, sections_m: [12]}\n"

// maker writes a session.
type maker struct {
	p     *replay.Packer
	s     replay.Survey
	plane *plane.Plane
	now   time.Time
	seq   uint32
	err   error
}

// Write makes the file in a folder, closed and packed.
func (s Session) Write(dir string) (err error) {
	f, err := os.Create(filepath.Join(dir, s.Name+".mcap"))
	if err != nil {
		return err
	}
	defer func() {
		if closeErr := f.Close(); err == nil {
			err = closeErr
		}
	}()
	head := replay.Head{Session: s.Name, Part: 1, First: 1, Version: "test", Zone: "UTC", Config: s.Config, Start: s.Start}
	p, err := replay.NewPacker(f, head)
	if err != nil {
		return err
	}
	lat := s.LatDeg
	if lat == 0 {
		lat = 53.35
	}
	m := &maker{p: p, plane: plane.New(lat, s.LonDeg), now: s.Start}
	m.s.Head(head)
	for _, j := range s.Jobs {
		m.job(j)
	}
	if m.err != nil {
		return fmt.Errorf("make session %s: %w", s.Name, m.err)
	}
	return p.Close(m.s.Contents(nil))
}

func (m *maker) line(stream replay.Stream, text string) {
	if m.err != nil {
		return
	}
	m.seq++
	e := replay.Event{At: m.now, Stream: stream, Line: []byte(text)}
	m.s.Add(e, m.seq)
	m.err = m.p.Append(e, m.seq)
}

// at is a second with the machine at a place, heading north or south.
func (m *maker) at(x, y, headingDeg float64, report string) {
	lat, lon := m.plane.Inverse(x, y)
	t := m.now.UTC()
	m.line(replay.StreamGNSS, summed(fmt.Sprintf("GNRMC,%s,A,%s,%s,0.0,%.1f,%s,,,R", t.Format("150405.00"), degrees(lat, 2, "NS"), degrees(lon, 3, "EW"), headingDeg, t.Format("020106"))))
	m.line(replay.StreamGNSS, summed(fmt.Sprintf("GNTHS,%.1f,A", headingDeg)))
	m.line(replay.StreamGNSS, summed(fmt.Sprintf("GNGGA,%s,%s,%s,4,18,0.7,60.0,M,47.0,M,1.0,0000", t.Format("150405.00"), degrees(lat, 2, "NS"), degrees(lon, 3, "EW"))))
	m.line(replay.StreamController, report)
}

func degrees(v float64, digits int, sides string) string {
	side := sides[:1]
	if v < 0 {
		v, side = -v, sides[1:]
	}
	whole := math.Floor(v)
	minutes := (v - whole) * 60
	return fmt.Sprintf("%0*d%011.8f,%s", digits, int(whole), minutes, side)
}

func summed(text string) string {
	var sum byte
	for i := range len(text) {
		sum ^= text[i]
	}
	return fmt.Sprintf("$%s*%02X", text, sum)
}

const off = "work=0"

func (m *maker) job(j Job) {
	length := float64(j.PassS) * j.SpeedMPS
	worked, report := 0, "work=1 "+j.Report
	for range j.PauseS {
		m.at(j.EastM, j.NorthM, 0, off)
		m.now = m.now.Add(time.Second)
	}
	for _, say := range j.Say {
		m.line(replay.StreamOperator, say)
	}
	for pass := range j.Passes {
		x, heading, from, step := j.EastM+float64(pass)*j.SpacingM, 0.0, j.NorthM, j.SpeedMPS
		if pass%2 == 1 {
			heading, from, step = 180, j.NorthM+length, -j.SpeedMPS
		}
		for s := 0; s <= j.PassS; s++ {
			if text, ok := j.Later[worked]; ok {
				report = "work=1 " + text
			}
			if s < j.PassS {
				if text, ok := j.SayAt[worked]; ok {
					m.line(replay.StreamOperator, text)
				}
				worked++
				m.at(x, from+float64(s)*step, heading, report)
			} else {
				m.at(x, from+float64(s)*step, heading, off)
			}
			m.now = m.now.Add(time.Second)
		}
		if pass == j.Passes-1 {
			break
		}
		// Across to the next pass. The pass ends with its last fix; TurnS seconds later
		// the next one begins.
		end := from + float64(j.PassS)*step
		for s := 1; s < j.TurnS; s++ {
			m.at(x+j.SpacingM*float64(s)/float64(j.TurnS), end, heading, off)
			m.now = m.now.Add(time.Second)
		}
	}
}
