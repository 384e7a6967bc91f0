package replay

import (
	"time"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/nmea"
)

// maxHeld bounds what waits for a fix to tell its time.
const maxHeld = 4096

// sink is what aligned input goes to.
type sink interface {
	Fix(nmea.Fix)
	Report(time.Time, controller.Report)
	Say(coverage.Statement)
}

// align carries reports and statements from the session's clock to receiver
// time. It holds them until the next fix, which tells the offset, and hands
// everything on in order. Where a fix contradicts the offset so far, it holds
// on until the next ones show whether the line stalled or the clock stepped.
type align struct {
	to        sink
	latencyNS int64
	clock     clock
	held      []heldInput
	odd       []fixOffset // of the fixes held
	lastFixNS int64
	steps     int
}

type inputKind uint8

const (
	inputFix inputKind = iota
	inputReport
	inputStatement
)

// heldInput is one of three, as kind says.
type heldInput struct {
	fix       nmea.Fix
	report    controller.Report
	tanks     []controller.Reading // the report's own copy
	statement coverage.Statement
	atNS      int64 // arrival; of a fix its receiver time
	kind      inputKind
}

// hold adds an input, reusing what an earlier one left behind.
func (a *align) hold(kind inputKind, atNS int64) *heldInput {
	if len(a.held) >= maxHeld {
		a.makeRoom()
	}
	if len(a.held) < cap(a.held) {
		a.held = a.held[:len(a.held)+1]
	} else {
		a.held = append(a.held, heldInput{})
	}
	h := &a.held[len(a.held)-1]
	h.kind, h.atNS = kind, atNS
	return h
}

func (a *align) report(at time.Time, r controller.Report) {
	h := a.hold(inputReport, at.UnixNano())
	h.tanks = append(h.tanks[:0], r.Tanks...)
	h.report = r
	h.report.Tanks = h.tanks
}

func (a *align) statement(at time.Time, s coverage.Statement) {
	a.hold(inputStatement, at.UnixNano()).statement = s
}

// fix takes a fix, which settles what was held unless it contradicts the
// offset so far.
func (a *align) fix(f nmea.Fix) {
	fixNS := f.Time.UnixNano()
	offset := f.Arrival.UnixNano() - a.latencyNS - fixNS
	if !a.clock.known() || a.clock.fits(offset) {
		a.clock.add(offset)
		a.release(nil, 0)
		a.to.Fix(f)
		a.lastFixNS = fixNS
		return
	}
	a.hold(inputFix, fixNS).fix = f
	a.odd = append(a.odd, fixOffset{offset, fixNS})
	if tail := settled(a.odd); tail != nil {
		a.step(tail)
	}
}

// step takes the clock as having stepped, by the fixes that show it.
func (a *align) step(tail []fixOffset) {
	before := a.clock.offsetNS()
	a.clock.reset(tail)
	a.steps++
	a.release(&tail[0].fixNS, before)
}

// release hands on everything held. With stepFixNS the clock stepped at the
// latest before that fix: what arrived before it was stamped by the old clock
// or the new one, whichever puts it between its neighbours.
func (a *align) release(stepFixNS *int64, oldOffsetNS int64) {
	offset := a.clock.offsetNS()
	stepped := stepFixNS == nil
	for i := range a.held {
		h := &a.held[i]
		t := h.atNS - offset
		if h.kind == inputFix {
			stepped = stepped || h.atNS == *stepFixNS
			a.to.Fix(h.fix)
			a.lastFixNS = h.atNS
			continue
		}
		if !stepped {
			old := h.atNS - oldOffsetNS
			if a.outside(old, *stepFixNS) <= a.outside(t, *stepFixNS) {
				t = old
			}
		}
		a.hand(h, t)
	}
	a.held, a.odd = a.held[:0], a.odd[:0]
}

// outside is by how much t lies outside the time from the last fix to the next.
func (a *align) outside(tNS, nextFixNS int64) int64 {
	return max(a.lastFixNS-tNS, tNS-nextFixNS, 0)
}

func (a *align) hand(h *heldInput, tNS int64) {
	at := time.Unix(0, tNS).UTC()
	if h.kind == inputReport {
		a.to.Report(at, h.report)
		return
	}
	h.statement.At = at
	a.to.Say(h.statement)
	h.statement = coverage.Statement{}
}

// makeRoom keeps what waits within bounds. With an offset known everything is
// handed on by it; without one, no ground can have been laid yet and only the
// latest reports can still matter.
func (a *align) makeRoom() {
	if tail := a.odd; len(tail) > 0 {
		a.step(tail[len(tail)-1:])
		return
	}
	if a.clock.known() {
		a.release(nil, 0)
		return
	}
	kept := make([]heldInput, 0, maxHeld)
	for i := range a.held {
		if a.held[i].kind == inputStatement || i >= len(a.held)/2 {
			kept = append(kept, a.held[i])
		}
	}
	if len(kept) > maxHeld/4*3 {
		a.release(nil, 0)
		return
	}
	a.held = kept
}

// finish hands on what no fix came for.
func (a *align) finish() { a.release(nil, 0) }
