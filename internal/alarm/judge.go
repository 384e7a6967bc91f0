package alarm

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"drawbar/coverage"
	"drawbar/coverage/supply"
	"drawbar/internal/live"
)

// when is bad or good by two conditions that exclude each other.
func when(isBad, isGood bool) verdict {
	switch {
	case isBad:
		return bad
	case isGood:
		return good
	}
	return between
}

func (w *Watch) sources(v *View) {
	for i := range v.Sources {
		s := &v.Sources[i]
		w.judge(live.SourceLost, i, when(!s.Up, s.Up), func() (string, string) {
			return s.Name, fmt.Sprintf("Source %s at %s is lost%s: check plug, cable and power; it is opened again by itself.",
				s.Name, s.Address, because(s.LastError))
		})
	}
}

func (w *Watch) gnss(v *View) {
	if !v.has("gnss") {
		return
	}
	still := w.fixes.still
	w.judge(live.NoFix, 0, when(still >= noFixAfter, w.fixes.ever && still <= fixAgain), func() (string, string) {
		return "", "There is no position: check that the antenna sees the sky and that the receiver has power and sends positions; nothing is painted until then."
	})
	fresh := w.fixes.ever && still < noFixAfter
	low := v.Quality < w.limits.MinQuality
	w.judge(live.FixQuality, 0, when(fresh && low, fresh && !low), func() (string, string) {
		return "", fmt.Sprintf("The fix is %s and %s is set as the least: nothing is painted until it is better; check the antenna and the correction service.",
			v.Quality, w.limits.MinQuality)
	})
}

// stale tells whether the controller is silent for too long.
func (w *Watch) stale() bool {
	return w.reports.still >= time.Duration(float64(w.limits.StaleS*float64(time.Second)))
}

func (w *Watch) silence(v *View) {
	if !v.has("controller") {
		return
	}
	silent := w.stale() && w.motion.moving
	w.judge(live.ControllerSilent, 0, when(silent, !silent), func() (string, string) {
		return "", fmt.Sprintf("The controller has said nothing for more than %g s while moving: what is put down is not known and nothing is painted; check its power, its cable and that it is switched on.",
			w.limits.StaleS)
	})
}

func (w *Watch) rates(v *View) {
	working := false
	for _, s := range v.Sections {
		working = working || s == coverage.SectionOn
	}
	working = working && w.motion.moving
	for i := range v.Tanks {
		t := &v.Tanks[i]
		if !t.HasRate || !t.HasTarget || t.TargetPerM2 <= 0 {
			continue
		}
		off := t.RatePerM2/t.TargetPerM2 - 1
		w.judge(live.RateOffTarget, t.Number, w.rateVerdict(working, math.Abs(off)), func() (string, string) {
			way := "more"
			if off < 0 {
				way = "less"
			}
			return tank(t), fmt.Sprintf("%s puts down %.0f %% %s than its target: check the meter, the flow of product and the speed; the rate on the product's label is the one to keep.",
				tankTitle(t), 100*math.Abs(off), way)
		})
	}
}

// rateVerdict is that of a rate off its target by the given share.
func (w *Watch) rateVerdict(working bool, off float64) verdict {
	const exact = 1e-9 // ten percent in binary is a little more than ten percent
	switch {
	case !working:
		return good
	case w.stale():
		return between
	}
	return when(off > rateOff+exact, off <= rateBack+exact)
}

func (w *Watch) sections(v *View) {
	for i := 1; i+1 < len(v.Sections); i++ {
		left, here, right := v.Sections[i-1], v.Sections[i], v.Sections[i+1]
		out := here == coverage.SectionOff && left == coverage.SectionOn && right == coverage.SectionOn
		verdict := when(out && w.motion.moving, true)
		if here == coverage.SectionUnknown || w.stale() && w.motion.moving {
			verdict = between
		}
		w.judge(live.SectionOff, i, verdict, func() (string, string) {
			return fmt.Sprintf("section %d", i+1),
				fmt.Sprintf("Section %d from the left is off while its neighbours work: check whether it was switched off on purpose, is blocked or lost its drive.", i+1)
		})
	}
}

func (w *Watch) levels(v *View) {
	for i := range v.Tanks {
		t := &v.Tanks[i]
		if !t.HasLevel {
			continue
		}
		empty := when(t.LevelAmount <= 0, t.LevelAmount > 0)
		if t.HasFull && t.FullAmount > 0 {
			share := t.LevelAmount / t.FullAmount
			empty = when(share <= tankEmpty, share >= tankNotDone)
			w.judge(live.TankLow, t.Number, when(share < tankLow, share >= tankNotLow), func() (string, string) {
				return tank(t), fmt.Sprintf("%s is below %.0f %% of its capacity: fill it soon.", tankTitle(t), 100*tankLow)
			})
		}
		w.judge(live.TankEmpty, t.Number, empty, func() (string, string) {
			return tank(t), fmt.Sprintf("%s is empty: stop and fill it.", tankTitle(t))
		})
	}
}

// outlook looks at what lies ahead of the tanks that are not empty yet.
func (w *Watch) outlook(v *View) {
	for i := range v.Tanks {
		t := &v.Tanks[i]
		at := slices.IndexFunc(v.Outlook.Tanks, func(o supply.Outlook) bool { return o.Tank == t.Number })
		if at < 0 || !v.Outlook.Tanks[at].HasArea {
			continue
		}
		if empty := w.find(live.TankEmpty, t.Number); empty != nil && empty.raised {
			continue
		}
		o := &v.Outlook.Tanks[at]
		known := o.NextPass != supply.Unknown
		short := known && o.NextShare < nextShort || o.ThisPass == supply.No
		w.judge(live.TankShort, t.Number, when(short, known && !short && o.NextShare >= nextAgain), func() (string, string) {
			return tank(t), tankTitle(t) + ": " + reaches(o)
		})
	}
}

// reaches says how far a tank reaches that is short.
func reaches(o *supply.Outlook) string {
	switch o.ThisPass {
	case supply.Yes:
		return "enough for this pass, not for the next one; fill it before you begin that."
	case supply.No:
		return "not enough for the rest of this pass; fill it before it runs out."
	default:
		return "not enough for the next pass; fill it before you begin that."
	}
}

func (w *Watch) disk(v *View) {
	r, reserve := &v.Recording, w.limits.ReserveBytes
	low := r.HasFree && r.FreeBytes < reserve
	enough := r.HasFree && float64(r.FreeBytes) >= diskBack*float64(reserve)
	w.judge(live.DiskLow, 0, when(low, enough), func() (string, string) {
		return "", fmt.Sprintf("Only %d MB are free for recordings and %d MB are to be kept free: move old sessions to another disk; nothing is deleted by itself.",
			r.FreeBytes/1_000_000, reserve/1_000_000)
	})
	if w.limits.Records || r.Err != "" {
		w.judge(live.RecordingStopped, 0, when(!r.Recording, r.Recording), func() (string, string) {
			return "", fmt.Sprintf("Nothing is being recorded%s: make room on the disk or replace it; recording goes on by itself as soon as it can.", because(r.Err))
		})
	}
}

func (w *Watch) clock(v *View) {
	set := v.ClockSteps != w.steps
	w.steps = v.ClockSteps
	w.judge(live.ClockStepped, 0, when(set, true), func() (string, string) {
		return "", "The clock of this computer or of the receiver was set: nothing is lost and times follow the receiver; if it happens again, check the computer's clock battery."
	})
}

func tank(t *coverage.TankNow) string { return fmt.Sprintf("tank %d", t.Number) }

func tankTitle(t *coverage.TankNow) string {
	if t.Product == "" {
		return fmt.Sprintf("Tank %d", t.Number)
	}
	return fmt.Sprintf("Tank %d (%s)", t.Number, t.Product)
}

// because is the reason in brackets: one line of bounded length.
func because(reason string) string {
	reason = strings.Join(strings.Fields(strings.ToValidUTF8(reason, "?")), " ")
	if reason == "" {
		return ""
	}
	if r := []rune(reason); len(r) > 120 {
		reason = string(r[:119]) + "…"
	}
	return " (" + reason + ")"
}
