package main

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"drawbar/coverage"
	"drawbar/internal/sim"

	"github.com/spf13/cobra"
)

// simulateOptions are the command's options as typed. Only those that were
// typed change the scenario.
type simulateOptions struct {
	out, field, sections, mount, turn, control, edge string
	sentences, talker, correction, start             string
	stale, outages, jumps                            string
	seed                                             uint64
	headland, passes, repeats                        int
	spacing, heading, radius, speed, wobble, lag     float64
	onLate, offLate, scatter, noise                  float64
	fixHz, reportHz, spoiltGNSS, spoiltReports       float64
	latency, jitter, clockOffset, clockStep          float64
	plug                                             int
	flow, onChange, oneTank, json                    bool
}

func (o *simulateOptions) flags(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&o.out, "out", "", "folder to write, made if it is not there (required)")
	f.StringVar(&o.field, "field", "mill-piece", "mill-piece, long-meadow, far-reach, random or WxH in metres")
	f.Uint64Var(&o.seed, "seed", 1, "seed of everything that is left to chance")
	f.BoolVar(&o.json, "json", false, "print the truth as JSON")

	f.StringVar(&o.sections, "sections", "", "section widths in metres, left to right, such as 3,3,3,3")
	f.StringVar(&o.mount, "mount", "", "rigid or towed (6 m to the axle, 7.2 m to the bar)")
	f.Float64Var(&o.lag, "lag", 0, "seconds from meter to ground, of every tank")
	f.Float64Var(&o.noise, "rate-noise", 0, "share by which rates wander, one standard deviation")
	f.BoolVar(&o.flow, "flow", false, "report flow instead of rate")

	f.Float64Var(&o.spacing, "spacing", 0, "metres from pass to pass (0 = the implement's width)")
	f.Float64Var(&o.heading, "heading", 0, "of the first pass, degrees clockwise from north")
	f.IntVar(&o.headland, "headland", 0, "headland passes")
	f.IntVar(&o.passes, "passes", 0, "at most so many passes inside the headland (0 = all)")
	f.IntVar(&o.repeats, "repeats", 0, "drive everything again so many times")
	f.StringVar(&o.turn, "turn", "", "bulb, or fishtail with a piece in reverse (mounted only)")
	f.Float64Var(&o.radius, "radius", 0, "turning radius in metres")
	f.Float64Var(&o.speed, "speed", 0, "working speed in m/s")
	f.Float64Var(&o.wobble, "speed-wobble", 0, "share by which the speed wanders")

	f.StringVar(&o.control, "control", "", "planned, covered (off over covered ground) or always-on")
	f.StringVar(&o.edge, "edge", "", "section against an edge: on until its last corner, middle or first corner is out")
	f.Float64Var(&o.onLate, "on-late", 0, "seconds by which sections come on late (negative: early)")
	f.Float64Var(&o.offLate, "off-late", 0, "seconds by which sections go off late (negative: early)")
	f.Float64Var(&o.scatter, "switch-scatter", 0, "seconds, one standard deviation of each switching")
	f.Float64Var(&o.reportHz, "reports", 0, "controller reports a second, 0.2 to 20")
	f.BoolVar(&o.onChange, "report-on-change", true, "an extra report at each switching")
	f.BoolVar(&o.oneTank, "one-tank-a-line", false, "a line reports one tank")
	f.Float64Var(&o.spoiltReports, "spoilt-reports", 0, "share of controller lines damaged on the way")
	f.StringVar(&o.stale, "stale", "", "controller silent: FROM+SECONDS, several with commas, such as 120+10")
	f.IntVar(&o.plug, "plug", 0, "this section, from 1 at the left, is plugged from the second minute for a minute")

	f.Float64Var(&o.fixHz, "fixes", 0, "GNSS fixes a second, 1 to 50")
	f.StringVar(&o.sentences, "sentences", "", "such as GGA,RMC,VTG,ZDA/5: each epoch, or every so many")
	f.StringVar(&o.talker, "talker", "", "two letters such as GP or GN")
	f.StringVar(&o.correction, "correction", "", "perfect, rtk, float, dgps or autonomous")
	f.Float64Var(&o.spoiltGNSS, "spoilt-gnss", 0, "share of sentences damaged on the way")
	f.StringVar(&o.outages, "outages", "", "receiver silent: FROM+SECONDS, several with commas")
	f.StringVar(&o.jumps, "jumps", "", "one fix 10 km off at each of these seconds")
	f.Float64Var(&o.latency, "latency", 0, "seconds from an epoch to its first sentence")
	f.Float64Var(&o.jitter, "jitter", 0, "seconds, more latency evenly spread, of both streams")

	f.StringVar(&o.start, "start", "", "first epoch, UTC, such as 2026-05-14T23:50:00Z")
	f.Float64Var(&o.clockOffset, "clock-offset", 0, "seconds by which the session's clock is wrong")
	f.Float64Var(&o.clockStep, "clock-step", 0, "seconds by which it is stepped after five minutes")
}

// scenario turns the options into a scenario; typed tells which were given.
func (o *simulateOptions) scenario(typed func(option string) bool) (sim.Scenario, error) {
	if o.out == "" {
		return sim.Scenario{}, usagef("say where to write with --out DIR")
	}
	sc, err := o.base()
	if err != nil {
		return sc, err
	}
	for _, set := range []func(*sim.Scenario, func(string) bool) error{o.implement, o.drive, o.machine, o.receiver, o.clock} {
		if err := set(&sc, typed); err != nil {
			return sc, err
		}
	}
	if err := sim.Check(sc); err != nil {
		return sc, usageError{err}
	}
	return sc, nil
}

func (o *simulateOptions) base() (sim.Scenario, error) {
	switch o.field {
	case "mill-piece":
		return sim.Demo(o.seed), nil
	case "long-meadow":
		return sim.Meadow(o.seed), nil
	case "far-reach":
		return sim.Day(o.seed), nil
	case "random":
		return sim.RandomField(o.seed), nil
	}
	w, h, ok := strings.Cut(o.field, "x")
	width, err1 := strconv.ParseFloat(w, 64)
	height, err2 := strconv.ParseFloat(h, 64)
	if !ok || err1 != nil || err2 != nil || !(width >= 1 && width <= 10_000) || !(height >= 1 && height <= 10_000) {
		return sim.Scenario{}, usagef("field %q: say mill-piece, long-meadow, far-reach, random, or a size in metres from 1x1 to 10000x10000, such as 200x150", o.field)
	}
	return sim.Rectangle(o.seed, width, height), nil
}

func (o *simulateOptions) implement(sc *sim.Scenario, typed func(string) bool) error {
	if typed("sections") {
		widths, err := numbers("sections", o.sections)
		if err != nil {
			return err
		}
		sc.Implement.SectionsM = widths
		sc.Implement.Name = fmt.Sprintf("%g m implement", sc.Implement.WidthM())
	}
	if typed("mount") {
		mount, err := choose("mount", o.mount, map[string]coverage.Mount{"rigid": coverage.MountRigid, "towed": coverage.MountTowed})
		if err != nil {
			return err
		}
		if im := &sc.Implement; mount != im.Mount {
			im.Mount, im.AntennaToHitchM, im.HitchToAxleM, im.HitchToBarM = mount, 1.8, 6, 7.2
			if mount == coverage.MountRigid {
				im.HitchToAxleM, im.HitchToBarM = 0, 1.2
			}
		}
	}
	for i := range sc.Tanks {
		if typed("lag") {
			sc.Tanks[i].LagS = o.lag
		}
		if typed("rate-noise") {
			sc.Tanks[i].RateNoise = o.noise
		}
		if typed("flow") {
			sc.Tanks[i].PlainFlow = o.flow
		}
	}
	return nil
}

func (o *simulateOptions) drive(sc *sim.Scenario, typed func(string) bool) (err error) {
	d := &sc.Drive
	setIf(typed("spacing"), &d.SpacingM, o.spacing)
	setIf(typed("heading"), &d.HeadingDeg, o.heading)
	setIf(typed("headland"), &d.HeadlandPasses, o.headland)
	setIf(typed("passes"), &d.Passes, o.passes)
	setIf(typed("repeats"), &d.Repeats, o.repeats)
	setIf(typed("radius"), &d.RadiusM, o.radius)
	setIf(typed("speed"), &d.WorkMPS, o.speed)
	setIf(typed("speed-wobble"), &d.Wobble, o.wobble)
	if typed("turn") {
		d.Turn, err = choose("turn", o.turn, map[string]sim.TurnShape{"bulb": sim.TurnBulb, "fishtail": sim.TurnFishtail})
	}
	return err
}

func (o *simulateOptions) machine(sc *sim.Scenario, typed func(string) bool) (err error) {
	c, m := &sc.Control, &sc.Machine
	if typed("control") {
		c.Mode, err = choose("control", o.control, map[string]sim.ControlMode{
			"planned": sim.ControlPlanned, "covered": sim.ControlCovered, "always-on": sim.ControlAlwaysOn,
		})
		if err != nil {
			return err
		}
	}
	if typed("edge") {
		c.Edge, err = choose("edge", o.edge, map[string]sim.Edge{"last": sim.EdgeLast, "middle": sim.EdgeMiddle, "first": sim.EdgeFirst})
		if err != nil {
			return err
		}
	}
	setIf(typed("on-late"), &c.OnLateS, o.onLate)
	setIf(typed("off-late"), &c.OffLateS, o.offLate)
	setIf(typed("switch-scatter"), &c.ScatterS, o.scatter)
	setIf(typed("reports"), &m.HZ, o.reportHz)
	setIf(typed("report-on-change"), &m.OnChange, o.onChange)
	setIf(typed("one-tank-a-line"), &m.OneTankALine, o.oneTank)
	setIf(typed("spoilt-reports"), &m.Damaged, o.spoiltReports)
	setIf(typed("jitter"), &m.JitterS, o.jitter)
	if typed("plug") {
		m.Plugs = nil
		if o.plug != 0 {
			m.Plugs = []sim.Plug{{Section: o.plug - 1, Span: sim.Span{FromS: 60, ForS: 60}}}
		}
	}
	if typed("stale") {
		m.Stale, err = spans("stale", o.stale)
	}
	return err
}

func (o *simulateOptions) receiver(sc *sim.Scenario, typed func(string) bool) error {
	r := &sc.Receiver
	setIf(typed("fixes"), &r.HZ, o.fixHz)
	setIf(typed("talker"), &r.Talker, o.talker)
	setIf(typed("spoilt-gnss"), &r.Damaged, o.spoiltGNSS)
	setIf(typed("latency"), &r.LatencyS, o.latency)
	setIf(typed("jitter"), &r.JitterS, o.jitter)
	if typed("correction") {
		class, err := choose("correction", o.correction, map[string]sim.Class{
			"perfect": sim.ClassPerfect, "rtk": sim.ClassRTK, "float": sim.ClassFloat, "dgps": sim.ClassDGPS, "autonomous": sim.ClassAutonomous,
		})
		if err != nil {
			return err
		}
		r.Class = class
	}
	if typed("sentences") {
		r.Sentences = nil
		for _, s := range strings.Split(o.sentences, ",") {
			f, every, found := strings.Cut(strings.TrimSpace(s), "/")
			n, err := 1, error(nil)
			if found {
				n, err = strconv.Atoi(every)
			}
			if err != nil || n < 1 {
				return usagef("sentences: %q, want a formatter or a formatter and how many epochs, such as ZDA/5", s)
			}
			r.Sentences = append(r.Sentences, sim.Sentence{Formatter: strings.ToUpper(f), Every: n})
		}
	}
	if typed("outages") {
		list, err := spans("outages", o.outages)
		if err != nil {
			return err
		}
		r.Outages = nil
		for _, s := range list {
			r.Outages = append(r.Outages, sim.Outage{Span: s})
		}
	}
	if typed("jumps") {
		list, err := numbers("jumps", o.jumps)
		if err != nil {
			return err
		}
		r.Jumps = nil
		for _, at := range list {
			r.Jumps = append(r.Jumps, sim.Jump{AtS: at, EastM: 10_000})
		}
	}
	return nil
}

func (o *simulateOptions) clock(sc *sim.Scenario, typed func(string) bool) error {
	if typed("start") {
		t, err := time.Parse(time.RFC3339, o.start)
		if err != nil || t.Nanosecond() != 0 || t.Year() < 1980 || t.Year() > 2079 {
			return usagef("start %q, want a whole second between 1980 and 2079, such as 2026-05-14T23:50:00Z", o.start)
		}
		sc.Start = t.UTC()
	}
	setIf(typed("clock-offset"), &sc.Clock.OffsetS, o.clockOffset)
	if typed("clock-step") {
		sc.Clock.Steps = []sim.Step{{AtS: 300, ByS: o.clockStep}}
	}
	return nil
}

func setIf[T any](typed bool, to *T, v T) {
	if typed {
		*to = v
	}
}

// choose finds a word among those that an option knows.
func choose[T any](option, word string, known map[string]T) (T, error) {
	if v, ok := known[word]; ok {
		return v, nil
	}
	words := make([]string, 0, len(known))
	for w := range known {
		words = append(words, w)
	}
	slices.Sort(words)
	var none T
	return none, usagef("%s %q, want one of %s", option, word, strings.Join(words, ", "))
}

// numbers reads a list such as 3,3,4.5.
func numbers(option, text string) ([]float64, error) {
	var out []float64
	for _, s := range strings.Split(text, ",") {
		v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, usagef("%s: %q, want numbers with commas between them, such as 3,3,4.5", option, s)
		}
		out = append(out, v)
	}
	return out, nil
}

// spans reads a list such as 120+10,300+5: from 120 s for 10 s and so on.
func spans(option, text string) ([]sim.Span, error) {
	var out []sim.Span
	for _, s := range strings.Split(text, ",") {
		from, length, ok := strings.Cut(strings.TrimSpace(s), "+")
		a, err1 := strconv.ParseFloat(from, 64)
		b, err2 := strconv.ParseFloat(length, 64)
		if !ok || err1 != nil || err2 != nil || !(a >= 0) || !(b > 0) {
			return nil, usagef("%s: %q, want FROM+SECONDS such as 120+10", option, s)
		}
		out = append(out, sim.Span{FromS: a, ForS: b})
	}
	return out, nil
}
