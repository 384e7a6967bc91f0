package source

import "time"

// The rates that are tried, the commonest first; the numbers below are of one
// trial or of the watch over a rate that was found.
const (
	trialMin    = 1500 * time.Millisecond // no rate is given up sooner
	trialSilent = 6 * time.Second         // without a single byte
	trialMax    = 12 * time.Second        // longer than two reports at 0.2 Hz
	trialBytes  = 256                     // that make no good line are enough
	trialBursts = 2                       // of bytes between pauses too
	validEnough = 3                       // good lines settle a rate
	textEnough  = 3                       // lines of nothing but text do, at the end of a trial
	noiseAfter  = 5 * time.Second         // without a good line, and
	noiseBytes  = 100                     // at least so much of what is no text: search anew
)

// usualBauds are tried in this order, bits a second.
func usualBauds() []int {
	return []int{9600, 38400, 115200, 4800, 19200, 57600, 230400, 460800, 921600}
}

// tuner finds the baud rate of a port: it counts the good lines of each usual
// rate and keeps the first one that has three, or else the best of the round.
// A stream of text that is not ours is kept too, for then the rate is right.
// Later noise starts the search again, with the rate that was good. It has no
// clock of its own and does no reading.
type tuner struct {
	rates   []int
	at      int  // the rate in hand
	settled bool // it is the right one
	rounds  int  // that found nothing
	cur     trial
	results []trial // of this round, by rate
}

// trial is what came at one rate.
type trial struct {
	since     time.Time
	bytes     int
	text      int // of bytes
	lines     int
	textLines int
	valid     int
	bursts    int // of bytes, each ended by a pause
	inBurst   bool
}

func newTuner(rates []int, now time.Time) *tuner {
	return &tuner{rates: rates, results: make([]trial, len(rates)), cur: trial{since: now}}
}

func (t *tuner) baud() int { return t.rates[t.at] }

// read takes note of bytes, or of a pause where there are none.
func (t *tuner) read(b []byte) {
	if len(b) == 0 {
		if t.cur.inBurst {
			t.cur.inBurst = false
			t.cur.bursts++
		}
		return
	}
	t.cur.inBurst = true
	t.cur.bytes += len(b)
	t.cur.text += textBytes(b)
}

// line takes note of a line and tells whether it may be handed on.
func (t *tuner) line(line []byte, valid bool) bool {
	t.cur.lines++
	if len(line) >= 3 && textBytes(line) == len(line) {
		t.cur.textLines++
	}
	if valid {
		t.cur.valid++
	}
	return valid || t.settled
}

// decide is called after every read. It tells whether the rate was changed.
func (t *tuner) decide(now time.Time) (changed bool) {
	if t.settled {
		t.watch(now)
		return false
	}
	c := &t.cur
	past := now.Sub(c.since)
	switch {
	case c.valid >= validEnough && c.good():
		t.settle(now)
		return false
	case past < trialMin:
		return false
	case c.valid == 0 && c.plainText():
		t.settle(now)
		return false
	case past >= trialMax,
		c.bytes == 0 && past >= trialSilent,
		c.valid == 0 && !c.readable() && (c.bytes >= trialBytes || c.bursts >= trialBursts):
		return t.next(now)
	}
	return false
}

// watch looks for noise at a rate that was right.
func (t *tuner) watch(now time.Time) {
	c := &t.cur
	if now.Sub(c.since) < noiseAfter || c.valid == 0 && c.bytes < noiseBytes {
		return
	}
	if c.valid == 0 && 4*c.text < 3*c.bytes {
		t.settled = false
		clear(t.results)
		// The rate that was good comes first, then the others in their order.
		t.rates = append([]int{t.baud()}, without(t.rates, t.baud())...)
		t.at = 0
	}
	t.cur = trial{since: now}
}

// next goes on to the next rate, or after the last one to the best of the round.
func (t *tuner) next(now time.Time) (changed bool) {
	t.results[t.at] = t.cur
	t.at++
	if t.at < len(t.rates) {
		t.cur = trial{since: now}
		return true
	}
	best := 0
	for i, r := range t.results {
		if r.valid > t.results[best].valid {
			best = i
		}
	}
	t.at = best
	if t.results[best].valid > 0 {
		t.settle(now)
	} else {
		t.rounds++
		t.at = 0
		t.cur = trial{since: now}
	}
	clear(t.results)
	return true
}

func (t *tuner) settle(now time.Time) {
	t.settled = true
	t.cur = trial{since: now}
}

// good tells whether the good lines are no chance hits in noise.
func (c *trial) good() bool { return 4*c.valid >= c.lines }

// plainText tells whether everything looks like lines of text.
func (c *trial) plainText() bool { return c.textLines >= textEnough && c.readable() }

// readable tells whether 95 % of the bytes are of text.
func (c *trial) readable() bool { return 20*c.text >= 19*c.bytes }

func without(rates []int, rate int) []int {
	rest := make([]int, 0, len(rates))
	for _, r := range rates {
		if r != rate {
			rest = append(rest, r)
		}
	}
	return rest
}
