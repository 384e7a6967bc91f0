package nmea

import (
	"math"
	"time"
)

// gatherer makes epochs out of sentences and fixes out of epochs.
//
//	GGA1 RMC1 VTG       HDT GGA2 RMC2 VTG       HDT GGA3 ...
//	|-- epoch 1 --|     |--- epoch 2 ---|
//	              pause                 pause
//
// A position sentence with another time of day closes the epoch in hand. What
// arrived after the last position sentence is kept apart as the tail: if the
// line was quiet longest just before it, it is the head of the next epoch (HDT
// above), else it is the end of this one (VTG). After the fix has been handed
// out, all of it goes to the next epoch.
type gatherer struct {
	clock   dateClock
	habit   habit
	recent  recent
	hand    epoch
	tail    tail
	counts  keyCounts // of the epoch in hand
	last    key       // the latest sentence of the epoch in hand
	lastAt  time.Time // when the latest sentence of any type arrived
	heard   bool      // lastAt is set
	damaged bool      // something was damaged in the epoch in hand

	lateRow  int    // epochs in a row with a companion after their fix
	repeated uint64 // position sentences of an epoch whose fix was out
}

// maxVoids position sentences without a time close an epoch: the receiver has
// lost the time, and the fix must not wait until it has found it again.
const maxVoids = 6

// lateChanges is how many epochs in a row must go on after their usual end for that
// to count as a change.
const lateChanges = 3

// passBy notes that the line was busy with something that is not used.
func (g *gatherer) passBy(at time.Time) { g.lastAt, g.heard = at, true }

// damage notes that a sentence may have been lost.
func (g *gatherer) damage(at time.Time) {
	g.damaged = true
	g.passBy(at)
}

// take takes a used sentence and appends the fix that it completes, if any.
func (g *gatherer) take(at time.Time, s *sentence, fixes []Fix) []Fix {
	pause := time.Duration(math.MaxInt64) // the first sentence begins an epoch
	if g.heard {
		pause = max(0, at.Sub(g.lastAt))
	}
	g.passBy(at)
	if s.kind.position() && s.has&hasTime != 0 {
		return g.takePosition(at, pause, s, fixes)
	}
	if s.kind == kindZDA {
		g.clock.hear(s)
	}
	return g.takeLoose(at, pause, s, fixes)
}

// takePosition takes a position sentence that has a time, valid or void.
func (g *gatherer) takePosition(at time.Time, pause time.Duration, s *sentence, fixes []Fix) []Fix {
	same := g.hand.timed && g.hand.todNS == s.todNS
	if same && g.hand.done || !same && g.recent.fixed(s.todNS) {
		// A straggler of an epoch whose fix is out. It cannot change that one,
		// and is none of the epoch in hand.
		g.clock.hear(s)
		g.straggler(s.kind, same)
		return fixes
	}
	if same {
		g.hand.loose.fill(&g.tail.loose)
		g.tail = tail{}
	} else {
		fixes = g.open(at, pause, s.todNS, fixes)
	}
	g.clock.hear(s)
	g.hand.add(s)
	return g.count(s.kind, fixes)
}

// straggler notes a position sentence that came after the fix of its epoch. One of
// a kind that the epoch had not had is a companion that comes now and then, such as
// an RMC once a second: only where it comes after epoch upon epoch has the usual
// last sentence changed. Any other is a repeat.
func (g *gatherer) straggler(k kind, inHand bool) {
	if inHand && g.counts[k] == 0 {
		g.counts.add(k)
		g.hand.late = true
		return
	}
	g.repeated++
	g.habit.forget()
}

// takeLoose takes a sentence without a position of its own, or a position
// sentence without a time, which counts for nothing but its place.
func (g *gatherer) takeLoose(at time.Time, pause time.Duration, s *sentence, fixes []Fix) []Fix {
	if s.kind.position() && g.hand.timed {
		if g.hand.voids++; g.hand.voids > maxVoids {
			fixes = g.close(false, fixes)
		}
	}
	t := &g.tail
	again := t.has(s)
	if t.n == 0 || again || pause > t.pause {
		switch {
		case g.hand.timed && !g.hand.done:
			g.hand.loose.fill(&t.loose)
			t.loose = loose{}
		case again && t.void:
			// A whole round without a time: what it said is out of date.
			t.loose = loose{}
		case again:
			t.loose.drop(s.kind)
		}
		t.restart(at, pause, g.last)
	}
	t.add(s)
	return g.count(s.kind, fixes)
}

// count counts a sentence of the epoch in hand, and hands the fix out if it is
// the epoch's usual last one.
func (g *gatherer) count(k kind, fixes []Fix) []Fix {
	g.last = g.counts.add(k)
	if g.hand.timed && g.hand.placed && !g.hand.done && g.habit.ends(g.last) {
		g.hand.loose.fill(&g.tail.loose)
		g.tail = tail{}
		fixes = g.handOut(fixes)
	}
	return fixes
}

// open closes the epoch in hand and begins the one of another time of day.
func (g *gatherer) open(at time.Time, pause time.Duration, todNS int64, fixes []Fix) []Fix {
	t := &g.tail
	free := !g.hand.timed || g.hand.done // the tail belongs to no other epoch
	isHead := t.n > 0 && (t.pause > pause || free && t.pause == pause)
	next := epoch{todNS: todNS, timed: true}
	next.fix.Arrival = at
	var counts keyCounts
	if isHead {
		next.fix.Arrival = t.arrival
		counts = t.counts
	}
	if isHead || free {
		next.loose = t.loose
	}
	fixes = g.close(isHead, fixes)
	g.hand, g.counts = next, counts
	return fixes
}

// close ends the epoch in hand. isHead says that the tail is not part of it.
func (g *gatherer) close(isHead bool, fixes []Fix) []Fix {
	if g.hand.timed {
		last := g.last
		if isHead {
			last = g.tail.before
		} else if !g.hand.done {
			g.hand.loose.fill(&g.tail.loose)
		}
		if g.hand.late {
			if g.lateRow++; g.lateRow >= lateChanges {
				g.habit.forget()
				g.lateRow = 0
			}
		} else {
			g.lateRow = 0
			g.habit.observe(last, g.damaged)
		}
		if g.hand.placed && !g.hand.done {
			fixes = g.handOut(fixes)
		}
		g.recent.add(g.hand.todNS, g.hand.done)
	}
	g.hand, g.tail, g.counts, g.damaged = epoch{}, tail{}, keyCounts{}, false
	return fixes
}

// handOut appends the fix of the epoch in hand.
func (g *gatherer) handOut(fixes []Fix) []Fix {
	f := g.hand.finished()
	f.Time = g.clock.at(g.hand.todNS, f.Arrival)
	if g.clock.known {
		f.Has |= HasDate
	}
	g.hand.done = true
	return append(fixes, f)
}

// recent holds the times of day of the last epochs before the one in hand, by
// which a straggler is known.
type recent struct {
	todNS  [4]int64
	isFix  [4]bool
	oldest int
}

func (r *recent) add(todNS int64, isFix bool) {
	r.todNS[r.oldest], r.isFix[r.oldest] = todNS, isFix
	r.oldest = (r.oldest + 1) % len(r.todNS)
}

// fixed tells whether one of them had this time of day and gave a fix.
func (r *recent) fixed(todNS int64) bool {
	for i, t := range r.todNS {
		if r.isFix[i] && t == todNS {
			return true
		}
	}
	return false
}
