package alarm

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"drawbar/coverage"
	"drawbar/coverage/supply"
	"drawbar/internal/live"
	"drawbar/nmea"
)

// step is the time between two views in the tables.
const step = 200 * time.Millisecond

var noon = time.Date(2026, 5, 14, 12, 0, 0, 0, time.UTC)

// scene is a machine at work with everything in order; a part of a test changes
// what it is about.
type scene struct {
	View
	mute, noFix bool // nothing new from the controller, from the receiver
}

func atWork() scene {
	on := []coverage.SectionState{coverage.SectionOn, coverage.SectionOn, coverage.SectionOn, coverage.SectionOn}
	return scene{View: View{
		Sources: []live.SourceState{{Name: "gnss", Stream: "gnss", Address: "/dev/ttyUSB0", Up: true}, {Name: "controller", Stream: "controller", Address: "/dev/ttyUSB1", Up: true}},
		Quality: nmea.QualityRTK, SpeedMPS: 2.5, HasSpeed: true,
		Sections: on,
		Tanks: []coverage.TankNow{
			{Number: 1, Product: "Spring oats", Unit: "kg", RatePerM2: 0.0112, TargetPerM2: 0.0112, LevelAmount: 2000, FullAmount: 3800, HasRate: true, HasTarget: true, HasLevel: true, HasFull: true},
			{Number: 2, Unit: "l", RatePerM2: 0.01, TargetPerM2: 0.01, HasRate: true, HasTarget: true},
		},
		Recording: live.RecordingState{Session: "s", Recording: true, FreeBytes: 50e9, HasFree: true},
	}}
}

// part is a stretch of time in which change holds.
type part struct {
	lasts  time.Duration
	change func(*scene)
}

// play steps a watch through the parts and lists what changed, as "3.2s
// +source_lost gnss".
func play(w *Watch, parts []part) (got []string) {
	now, view := noon, atWork().View
	for _, p := range parts {
		for until := now.Add(p.lasts); now.Before(until); now = now.Add(step) {
			s := atWork()
			if p.change != nil {
				p.change(&s)
			}
			s.Fixes, s.Reports, s.ClockSteps = view.Fixes, view.Reports, view.ClockSteps+s.ClockSteps
			if !s.noFix {
				s.Fixes += 2
			}
			if !s.mute {
				s.Reports++
			}
			view = s.View
			for _, c := range w.Step(now, view) {
				sign := "-"
				if c.Raised {
					sign = "+"
				}
				got = append(got, strings.TrimSpace(fmt.Sprintf("%v %s%v %s", now.Sub(noon), sign, c.Alarm, c.Subject)))
			}
		}
	}
	return got
}

const s = time.Second

func TestRules(t *testing.T) {
	t.Parallel()
	down := func(v *scene) { v.Sources[0].Up = false }
	noFix := func(v *scene) { v.noFix = true }
	mute := func(v *scene) { v.mute = true }
	rate := func(share float64) func(*scene) {
		return func(v *scene) { v.Tanks[0].RatePerM2 = v.Tanks[0].TargetPerM2 * share }
	}
	level := func(kg float64) func(*scene) { return func(v *scene) { v.Tanks[0].LevelAmount = kg } }
	section := func(states string) func(*scene) {
		return func(v *scene) {
			for i, c := range states {
				v.Sections[i] = map[rune]coverage.SectionState{'0': coverage.SectionOff, '1': coverage.SectionOn, '?': coverage.SectionUnknown}[c]
			}
		}
	}
	free := func(b uint64) func(*scene) { return func(v *scene) { v.Recording.FreeBytes = b } }
	both := func(f ...func(*scene)) func(*scene) {
		return func(v *scene) {
			for _, g := range f {
				g(v)
			}
		}
	}
	stand := func(v *scene) { v.SpeedMPS = 0.1 }
	quality := func(q nmea.Quality) func(*scene) { return func(v *scene) { v.Quality = q } }
	full := func(v *scene) { v.Recording.Recording, v.Recording.Err = false, "no space left on device" }
	reach := func(this, next supply.Answer, share float64) func(*scene) {
		return func(v *scene) {
			v.Outlook.Tanks = []supply.Outlook{{Tank: 2}, {Tank: 1, AreaLeftM2: 9000, HasArea: true, ThisPass: this, NextPass: next, NextShare: share}}
		}
	}

	for _, c := range []struct {
		name   string
		limits Limits
		parts  []part
		want   []string
	}{
		{name: "all is well", parts: []part{{60 * s, nil}}},

		{name: "source lost: raised after 2 s, cleared after 1 s", parts: []part{{s, nil}, {4 * s, down}, {4 * s, nil}}, want: []string{"3s +source_lost gnss", "6s -source_lost gnss"}},
		{name: "source lost: a loose plug is no loss yet", parts: []part{{s, nil}, {s, down}, {s, nil}, {s, down}, {2 * s, nil}}},
		{name: "source lost: back for a moment is not back", parts: []part{{3 * s, down}, {s / 2, nil}, {3 * s, down}, {3 * s, nil}}, want: []string{"2s +source_lost gnss", "7.6s -source_lost gnss"}},
		{name: "source lost: no source any more, no alarm", parts: []part{{3 * s, func(v *scene) { v.Sources[1].Up = false }}, {s, func(v *scene) { v.Sources = v.Sources[:1] }}}, want: []string{"2s +source_lost controller", "3s -source_lost controller"}},

		{name: "no fix: from the start", parts: []part{{5 * s, noFix}, {5 * s, nil}}, want: []string{"3s +no_fix", "7s -no_fix"}},
		{name: "no fix: 3 s after the last, and 2 s of fixes clear it", parts: []part{{2 * s, nil}, {4 * s, noFix}, {5 * s, nil}}, want: []string{"4.8s +no_fix", "8s -no_fix"}},
		{name: "no fix: a hole of 2 s is none", parts: []part{{2 * s, nil}, {2 * s, noFix}, {2 * s, nil}}},
		{name: "no fix: single fixes do not clear it", parts: []part{{4 * s, noFix}, {step, nil}, {4 * s, noFix}, {step, nil}, {2 * s, noFix}}, want: []string{"3s +no_fix"}},
		{name: "no fix: not without a receiver", parts: []part{{9 * s, func(v *scene) { v.Sources, v.noFix = v.Sources[1:], true }}}},

		{name: "fix quality", limits: Limits{MinQuality: nmea.QualityRTK}, parts: []part{{s, nil}, {4 * s, quality(nmea.QualityFloat)}, {9 * s, nil}}, want: []string{"3s +fix_quality", "10s -fix_quality"}},
		{name: "fix quality: equal is enough", limits: Limits{MinQuality: nmea.QualityFloat}, parts: []part{{9 * s, quality(nmea.QualityFloat)}}},
		{name: "fix quality: any", limits: Limits{MinQuality: nmea.QualitySimulated}, parts: []part{{9 * s, quality(nmea.QualitySimulated)}}},
		{name: "fix quality: coming and going", limits: Limits{MinQuality: nmea.QualityRTK}, parts: []part{{3 * s, quality(nmea.QualityFloat)}, {4 * s, nil}, {s, quality(nmea.QualityFloat)}, {8 * s, nil}}, want: []string{"2s +fix_quality", "13s -fix_quality"}},

		{name: "controller silent while moving", parts: []part{{2 * s, nil}, {4 * s, mute}, {3 * s, nil}}, want: []string{"3.8s +controller_silent", "7s -controller_silent"}},
		{name: "controller silent: as set", limits: Limits{StaleS: 5}, parts: []part{{2 * s, nil}, {6 * s, mute}}, want: []string{"6.8s +controller_silent"}},
		{name: "controller silent: may be while standing", parts: []part{{5 * s, stand}, {9 * s, both(mute, stand)}}},
		{name: "controller silent: cleared by standing, after 3 s and 1 s more", parts: []part{{4 * s, mute}, {9 * s, both(mute, stand)}}, want: []string{"2s +controller_silent", "7.8s -controller_silent"}},
		{name: "controller silent: never heard", parts: []part{{4 * s, func(v *scene) { v.mute = true }}}, want: []string{"2s +controller_silent"}},

		{name: "rate 12 % over for 5 s", parts: []part{{s, nil}, {7 * s, rate(1.12)}, {4 * s, nil}}, want: []string{"6s +rate_off_target tank 1", "10s -rate_off_target tank 1"}},
		{name: "rate 12 % under", parts: []part{{7 * s, rate(0.88)}}, want: []string{"5s +rate_off_target tank 1"}},
		{name: "rate exactly 10 % off is within", parts: []part{{9 * s, rate(1.1)}, {9 * s, rate(0.9)}}},
		{name: "rate: 4.8 s are too short, the count starts again", parts: []part{{4800 * time.Millisecond, rate(1.2)}, {step, nil}, {4800 * time.Millisecond, rate(1.2)}, {s, nil}}},
		{name: "rate: between 8 and 10 % nothing changes", parts: []part{{6 * s, rate(1.2)}, {9 * s, rate(1.09)}, {3 * s, rate(1.07)}}, want: []string{"5s +rate_off_target tank 1", "17s -rate_off_target tank 1"}},
		{name: "rate: not while all sections are off", parts: []part{{9 * s, both(rate(0), section("0000"))}}},
		{name: "rate: not while standing", parts: []part{{4 * s, stand}, {9 * s, both(rate(0), stand)}}},
		{name: "rate: cleared on the headland", parts: []part{{6 * s, rate(1.2)}, {4 * s, both(rate(0), section("0000"))}}, want: []string{"5s +rate_off_target tank 1", "8s -rate_off_target tank 1"}},
		{name: "rate: each tank of its own", parts: []part{{7 * s, both(rate(1.2), func(v *scene) { v.Tanks[1].RatePerM2 = 0 })}}, want: []string{"5s +rate_off_target tank 1", "5s +rate_off_target tank 2"}},
		{name: "rate: no target, no alarm", parts: []part{{9 * s, both(rate(2), func(v *scene) { v.Tanks[0].TargetPerM2 = 0 })}, {9 * s, func(v *scene) { v.Tanks[0].HasRate = false }}}},

		{name: "section off between its neighbours", parts: []part{{s, nil}, {5 * s, section("1011")}, {3 * s, nil}}, want: []string{"4s +section_off section 2", "7s -section_off section 2"}},
		{name: "section off: the outer ones have one neighbour", parts: []part{{9 * s, section("0110")}}},
		{name: "section off: a neighbour is off too", parts: []part{{9 * s, section("1001")}}},
		{name: "section off: not while standing", parts: []part{{4 * s, stand}, {9 * s, both(stand, section("1011"))}}},
		{name: "section off: short", parts: []part{{2800 * time.Millisecond, section("1011")}, {s, nil}}},
		{name: "section off: unknown changes nothing", parts: []part{{4 * s, section("1011")}, {5 * s, section("1?11")}, {2 * s, section("0000")}}, want: []string{"3s +section_off section 2", "10s -section_off section 2"}},

		{name: "tank low and not low", parts: []part{{s, nil}, {7 * s, level(379)}, {9 * s, level(440)}, {9 * s, level(460)}}, want: []string{"6s +tank_low tank 1", "22s -tank_low tank 1"}},
		{name: "tank low: sloshing", parts: []part{{4 * s, level(379)}, {4 * s, level(381)}, {4 * s, level(379)}, {4 * s, level(381)}}},
		{name: "tank empty", parts: []part{{7 * s, level(30)}, {3 * s, level(100)}, {7 * s, nil}}, want: []string{"2s +tank_empty tank 1", "5s +tank_low tank 1", "15s -tank_low tank 1", "15s -tank_empty tank 1"}},
		{name: "tank empty: capacity not known", parts: []part{{3 * s, both(level(0), func(v *scene) { v.Tanks[0].HasFull = false })}, {7 * s, both(level(1), func(v *scene) { v.Tanks[0].HasFull = false })}}, want: []string{"2s +tank_empty tank 1", "8s -tank_empty tank 1"}},
		{name: "tank: level not known", parts: []part{{9 * s, both(level(0), func(v *scene) { v.Tanks[0].HasLevel = false })}}},

		{name: "tank short: before the pass that cannot be finished", parts: []part{{s, reach(supply.Yes, supply.Yes, 1.3)}, {7 * s, reach(supply.Yes, supply.No, 0.95)}, {4 * s, reach(supply.Yes, supply.Yes, 4)}}, want: []string{"6s +tank_short tank 1", "10s -tank_short tank 1"}},
		{name: "tank short: exactly enough is enough, and no reason to clear it", parts: []part{{9 * s, reach(supply.Yes, supply.Yes, 1)}, {6 * s, reach(supply.Yes, supply.No, 0.999)}, {9 * s, reach(supply.Yes, supply.Yes, 1.09)}}, want: []string{"14s +tank_short tank 1"}},
		{name: "tank short: on this pass, the next one not known", parts: []part{{6 * s, reach(supply.No, supply.Unknown, 0)}, {9 * s, reach(supply.Unknown, supply.Unknown, 0)}}, want: []string{"5s +tank_short tank 1"}},
		{name: "tank short: stays on the headland", parts: []part{{6 * s, reach(supply.Yes, supply.No, 0.5)}, {9 * s, reach(supply.Unknown, supply.No, 0.5)}}, want: []string{"5s +tank_short tank 1"}},
		{name: "tank short: not known, no alarm", parts: []part{{9 * s, reach(supply.Unknown, supply.Unknown, 0)}, {9 * s, func(v *scene) { v.Outlook.Tanks = []supply.Outlook{{Tank: 1}} }}}},
		{name: "tank short: gone with the level", parts: []part{{6 * s, reach(supply.Yes, supply.No, 0.5)}, {s, nil}}, want: []string{"5s +tank_short tank 1", "6s -tank_short tank 1"}},
		{name: "tank short: one that is empty is empty", parts: []part{{9 * s, both(reach(supply.No, supply.No, 0), level(0))}}, want: []string{"2s +tank_empty tank 1", "5s +tank_low tank 1"}},

		{name: "disk low at the reserve, cleared 10 % above it", limits: Limits{ReserveBytes: 1000}, parts: []part{{s, free(1000)}, {s, free(999)}, {20 * s, free(1099)}, {12 * s, free(1100)}}, want: []string{"1s +disk_low", "32s -disk_low"}},
		{name: "disk low: no longer known is not enough", limits: Limits{ReserveBytes: 1000}, parts: []part{{s, free(0)}, {30 * s, func(v *scene) { v.Recording.HasFree = false }}}, want: []string{"0s +disk_low"}},
		{name: "disk: not known", parts: []part{{9 * s, func(v *scene) { v.Recording.FreeBytes, v.Recording.HasFree = 0, false }}}},

		{name: "recording stopped", limits: Limits{Records: true}, parts: []part{{s, nil}, {3 * s, full}, {4 * s, nil}}, want: []string{"2s +recording_stopped", "6s -recording_stopped"}},
		{name: "recording: a replay records nothing", parts: []part{{9 * s, func(v *scene) { v.Recording = live.RecordingState{} }}}},
		{name: "recording: said not to be, without a reason", limits: Limits{Records: true}, parts: []part{{9 * s, func(v *scene) { v.Recording = live.RecordingState{} }}}, want: []string{"1s +recording_stopped"}},

		{name: "clock stepped: a minute from the last time", parts: []part{{s, nil}, {step, func(v *scene) { v.ClockSteps = 1 }}, {30 * s, nil}, {step, func(v *scene) { v.ClockSteps = 1 }}, {70 * s, nil}}, want: []string{"1s +clock_stepped", "1m31.4s -clock_stepped"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			w := New(c.limits)
			got := play(w, c.parts)
			if !slices.Equal(got, c.want) {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

// A clock that is set raises and clears nothing, whatever the watch was about to
// do: times without a monotonic reading are the worst case.
func TestClockThatIsSet(t *testing.T) {
	t.Parallel()
	for _, jump := range []time.Duration{-24 * time.Hour, 10 * 365 * 24 * time.Hour, -time.Second, 11 * time.Second} {
		w, now := New(Limits{Records: true}), noon
		v := atWork().View
		for i := range 200 {
			v.Fixes, v.Reports = v.Fixes+2, v.Reports+1
			if i%7 == 3 {
				now = now.Add(jump)
			}
			if got := w.Step(now, v); len(got) > 0 {
				t.Fatalf("clock set by %v at view %d: got %v, want nothing", jump, i, got)
			}
			now = now.Add(step)
		}
	}
}

// Every text is one sentence for a person that says what to do, and a text about
// a rate leaves the right one to the label.
func TestTexts(t *testing.T) {
	t.Parallel()
	w := New(Limits{MinQuality: nmea.QualityRTK, Records: true})
	play(w, []part{{9 * s, func(v *scene) {
		v.Sources[0].Up, v.Sources[0].LastError = false, "open /dev/ttyUSB0:\nno such file "+strings.Repeat("é", 500)
		v.Quality, v.mute, v.ClockSteps = nmea.QualityFloat, false, 1
		v.Tanks[0].RatePerM2, v.Tanks[0].LevelAmount = 0.005, 0
		v.Sections[1] = coverage.SectionOff
		v.Recording = live.RecordingState{Err: "no space left on device", HasFree: true}
	}}})
	standing := w.Active()
	play2 := New(Limits{})
	play(play2, []part{{9 * s, func(v *scene) { v.noFix, v.mute = true, true; v.SpeedMPS = 3 }}})
	standing = append(standing, play2.Active()...)
	w3 := New(Limits{})
	play(w3, []part{{5 * s, func(v *scene) { v.mute = true }}})
	standing = append(standing, w3.Active()...)
	for _, o := range []supply.Outlook{{ThisPass: supply.Yes}, {ThisPass: supply.No}, {}} {
		o.Tank, o.HasArea, o.NextPass = 1, true, supply.No
		short := New(Limits{})
		play(short, []part{{6 * s, func(v *scene) { v.Outlook.Tanks = []supply.Outlook{o} }}})
		standing = append(standing, short.Active()...)
	}
	seen := map[live.Alarm]bool{}
	for i, a := range standing {
		seen[a.Alarm] = true
		if !strings.HasSuffix(a.Text, ".") || strings.Count(a.Text, ". ") > 0 || strings.ContainsAny(a.Text, "\n\r") || len([]rune(a.Text)) > 300 {
			t.Errorf("%v: text is not one sentence: %q", a.Alarm, a.Text)
		}
		if !strings.Contains(a.Text, ": ") && !strings.Contains(a.Text, "; ") {
			t.Errorf("%v: text says nothing to do: %q", a.Alarm, a.Text)
		}
		if a.Alarm == live.RateOffTarget && !strings.Contains(a.Text, "label") {
			t.Errorf("%v: text does not leave the rate to the label: %q", a.Alarm, a.Text)
		}
		if a.Since.IsZero() {
			t.Errorf("%v: no time since when", a.Alarm)
		}
		if i > 0 && a.Alarm > standing[i-1].Alarm && a.Severity > standing[i-1].Severity && i < len(standing)-3 {
			t.Errorf("%v comes after the milder %v", a.Alarm, standing[i-1].Alarm)
		}
		t.Logf("%v %v %q since %v: %s", a.Severity, a.Alarm, a.Subject, a.Since.Format(time.TimeOnly), a.Text)
	}
	for a := range live.AlarmCount {
		if !seen[a] {
			t.Errorf("%v: no text seen", a)
		}
	}
}

// Raised and cleared take turns for each alarm, and those that stand are those
// raised last, whatever comes in and whenever.
func TestChangesAndStateAgree(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		w, now := New(Limits{MinQuality: nmea.QualityFloat, ReserveBytes: 1000, Records: true}), noon
		standing := map[string]bool{}
		var v View
		for range rapid.IntRange(1, 80).Draw(t, "views") {
			n := atWork().View
			n.Fixes, n.Reports, n.ClockSteps = v.Fixes+rapid.Uint64Range(0, 1).Draw(t, "fixes"), v.Reports+rapid.Uint64Range(0, 1).Draw(t, "reports"), v.ClockSteps
			v = n
			v.Sources[0].Up = rapid.Bool().Draw(t, "up")
			v.Sources = v.Sources[:rapid.IntRange(0, 2).Draw(t, "sources")]
			v.Quality = nmea.Quality(rapid.IntRange(0, 9).Draw(t, "quality"))
			v.SpeedMPS = rapid.Float64Range(0, 3).Draw(t, "speed")
			v.Tanks[0].RatePerM2 = rapid.Float64Range(0, 0.02).Draw(t, "rate")
			v.Tanks[0].LevelAmount = rapid.Float64Range(-1, 600).Draw(t, "level")
			v.Tanks = v.Tanks[:rapid.IntRange(0, 2).Draw(t, "tanks")]
			v.Recording.Recording = rapid.Bool().Draw(t, "recording")
			v.Recording.FreeBytes = rapid.Uint64Range(0, 2000).Draw(t, "free")
			now = now.Add(time.Duration(rapid.Int64Range(-3e9, 12e9).Draw(t, "dt")))
			for _, c := range w.Step(now, v) {
				key := fmt.Sprint(c.Alarm, c.Subject)
				if standing[key] == c.Raised {
					t.Fatalf("%s: told raised=%v twice", key, c.Raised)
				}
				standing[key] = c.Raised
			}
			n2 := 0
			for _, is := range standing {
				if is {
					n2++
				}
			}
			active := w.Active()
			if len(active) != n2 {
				t.Fatalf("%d alarms stand by the changes, %d by the state", n2, len(active))
			}
			for _, a := range active {
				if !standing[fmt.Sprint(a.Alarm, a.Subject)] || a.Text == "" {
					t.Fatalf("%v %q stands without having been raised, or without text", a.Alarm, a.Subject)
				}
			}
		}
	})
}

func BenchmarkStep(b *testing.B) {
	w, now, v := New(Limits{}), noon, atWork().View
	v.Sections = make([]coverage.SectionState, 36)
	for i := range v.Sections {
		v.Sections[i] = coverage.SectionOn
	}
	b.ReportAllocs()
	for b.Loop() {
		now = now.Add(step)
		v.Fixes++
		v.Reports++
		if c := w.Step(now, v); len(c) > 0 {
			b.Fatal(c)
		}
	}
}

// What the operator has seen stays seen until it is cleared, and comes anew after
// that.
func TestAcknowledge(t *testing.T) {
	t.Parallel()
	w := New(Limits{})
	view := atWork().View
	view.Sources[0].Up = false
	now := noon
	look := func(up bool) (seen []bool) {
		view.Sources[0].Up = up
		for range 50 {
			now = now.Add(step)
			view.Fixes++
			view.Reports++
			w.Step(now, view)
		}
		for _, a := range w.Active() {
			seen = append(seen, a.Seen)
		}
		return seen
	}
	if got := look(false); !slices.Equal(got, []bool{false}) {
		t.Fatalf("raised: got %v", got)
	}
	if w.Acknowledge(live.SourceLost, "controller") || w.Acknowledge(live.NoFix, "gnss") {
		t.Error("an alarm that does not stand was acknowledged")
	}
	if !w.Acknowledge(live.SourceLost, "gnss") {
		t.Error("not acknowledged")
	}
	if got := look(false); !slices.Equal(got, []bool{true}) {
		t.Errorf("acknowledged: got %v", got)
	}
	if got := look(true); len(got) > 0 {
		t.Errorf("cleared: got %v", got)
	}
	if got := look(false); !slices.Equal(got, []bool{false}) {
		t.Errorf("raised anew: got %v", got)
	}
}
