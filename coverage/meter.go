package coverage

import "drawbar/controller"

// held is what the controller last said of one tank.
type held struct {
	rate, target, flow, level controller.Quantity
	lastFlow                  controller.Quantity // reported last, alone or beside a rate
	heardNS, flowNS           int64               // when it was last spoken of, and a flow of it
	has                       controller.Has
}

// metered is the controller's state from one report to the next.
type metered struct {
	sections controller.Sections
	tanks    []held // indexed as the meter's tanks
	atNS     int64  // the moment of metering, not before the state before it
	saidNS   int64  // the same as it was given
	on       bool   // at least one section may be on
	all      bool   // the controller names no sections: the whole bar
}

const never = int64(1) << 62

// maxStates bounds what is kept while no fix comes that would use it up: more
// than the longest lag at the highest report rate needs.
const maxStates = 4096

// meter holds the controller's states on a time line and tells which of them
// is on the ground now. Product takes LagS from a tank's meter to the ground;
// what the sections do is seen after the lag of the lowest-numbered tank. Each
// of these lags reads the same line at its own place.
type meter struct {
	line    []metered // a ring in order of time
	first   int       // oldest kept
	n       int
	seq     int64 // of the oldest kept; a cursor is a sequence number
	staleNS int64

	numbers []int   // tank numbers, ascending
	lagNS   []int64 // by tank; the sections have sectionLagNS
	cursor  []int64 // by tank: the state that is on the ground now, -1 = none

	sectionLagNS  int64
	sectionCursor int64 // the same for the sections

	workStated, sectionsStated bool // by any report so far
	work                       bool
}

// addTank makes the tank known and returns its index, which orders by number.
func (m *meter) addTank(number int) int {
	i := 0
	for i < len(m.numbers) && m.numbers[i] < number {
		i++
	}
	if i < len(m.numbers) && m.numbers[i] == number {
		return i
	}
	m.numbers = insert(m.numbers, i, number)
	m.lagNS = insert(m.lagNS, i, 0)
	m.cursor = insert(m.cursor, i, -1)
	for k := range m.n {
		s := m.at(m.seq + int64(k))
		s.tanks = insert(s.tanks, i, held{})
	}
	return i
}

func insert[T any](s []T, i int, v T) []T {
	s = append(s, v)
	copy(s[i+1:], s[i:])
	s[i] = v
	return s
}

// setLag gives tank i its lag. The cursors start again from the oldest state
// kept, as a longer lag brings an earlier state back to the ground.
func (m *meter) setLag(i int, lagNS int64) {
	if m.lagNS[i] != lagNS {
		m.lagNS[i], m.cursor[i] = lagNS, m.seq-1
	}
}

// setSectionLag gives the sections their lag.
func (m *meter) setSectionLag(lagNS int64) {
	if m.sectionLagNS != lagNS {
		m.sectionLagNS, m.sectionCursor = lagNS, m.seq-1
	}
}

// at is the state with sequence number seq.
func (m *meter) at(seq int64) *metered {
	return &m.line[(m.first+int(seq-m.seq))%len(m.line)]
}

func (m *meter) last() int64 { return m.seq + int64(m.n) - 1 }

// push takes a report that describes the meters at tNS. Whatever it does not
// say holds on from the report before.
func (m *meter) push(tNS int64, r controller.Report) {
	for _, t := range r.Tanks {
		m.addTank(t.Tank)
	}
	m.room()
	saidNS := tNS
	next := &m.line[(m.first+m.n)%len(m.line)]
	if m.n > 0 {
		prev := m.at(m.last())
		tNS = max(tNS, prev.atNS) // the line is in order, whatever the clock did
		tanks := append(next.tanks[:0], prev.tanks...)
		*next = *prev
		next.tanks = tanks
	} else {
		*next = metered{tanks: append(next.tanks[:0], make([]held, len(m.numbers))...)}
	}
	next.atNS, next.saidNS = tNS, saidNS
	for _, t := range r.Tanks {
		next.tanks[m.addTank(t.Tank)].hear(t, tNS)
	}
	m.switchSections(next, r)
	m.n++
}

// rewind takes time as set back to tNS: the states that were given by the time
// that went before are forgotten, those after them stand where they were given.
func (m *meter) rewind(tNS int64) {
	keep := 0
	if m.n > 0 && m.at(m.last()).saidNS <= tNS+lateSettlesNS {
		keep = 1
	}
	for keep > 0 && keep < m.n {
		later := m.at(m.last() - int64(keep) + 1)
		if earlier := m.at(m.last() - int64(keep)); earlier.saidNS > later.saidNS {
			break
		}
		keep++
	}
	drop := m.n - keep
	if m.n > 0 {
		m.first = (m.first + drop) % len(m.line)
	}
	m.n, m.seq = keep, m.seq+int64(drop)
	for i := range keep {
		s := m.at(m.seq + int64(i))
		s.atNS = s.saidNS
	}
	m.sectionCursor = m.seq - 1
	for i := range m.cursor {
		m.cursor[i] = m.seq - 1
	}
}

// hear takes what one report said of the tank. A flow alone replaces a rate.
func (h *held) hear(t controller.Reading, tNS int64) {
	h.heardNS = tNS
	if t.Has&controller.HasFlow != 0 {
		h.lastFlow, h.flowNS = t.Flow, tNS
	}
	if t.Has&controller.HasRate != 0 {
		h.rate, h.flow = t.Rate, t.Flow // a flow beside it is kept to be compared with
		h.has = h.has&^controller.HasFlow | controller.HasRate
	} else if t.Has&controller.HasFlow != 0 {
		h.flow = t.Flow
		h.has = h.has&^controller.HasRate | controller.HasFlow
	}
	if t.Has&controller.HasTarget != 0 {
		h.target = t.Target
		h.has |= controller.HasTarget
	}
	if t.Has&controller.HasLevel != 0 {
		h.level = t.Level
		h.has |= controller.HasLevel
	}
}

// switchSections decides what is on after a report. work=0 switches everything
// off. A report that says work=1 and names no sections means the whole bar, as
// does one without work while any rate is above zero; but a line that only
// brings a tank's figures leaves work and sections, once stated, as they were.
func (m *meter) switchSections(s *metered, r controller.Report) {
	if r.Has&controller.HasWork != 0 {
		m.workStated, m.work = true, r.Work
	}
	switch {
	case r.Has&controller.HasSections != 0:
		m.sectionsStated = true
		s.sections, s.all = r.Sections, false
		s.on = r.Sections.Any()
	case r.Has&controller.HasWork != 0:
		s.all, s.on = true, r.Work
	case m.sectionsStated:
		s.on = s.all || s.sections.Any()
	case m.workStated:
		s.all, s.on = true, m.work
	default:
		s.all, s.on = true, s.anyRate()
	}
	if m.workStated && !m.work {
		s.on = false
	}
}

func (s *metered) anyRate() bool {
	for i := range s.tanks {
		h := &s.tanks[i]
		if h.has&controller.HasRate != 0 && h.rate.SI > 0 || h.has&controller.HasFlow != 0 && h.flow.SI > 0 {
			return true
		}
	}
	return false
}

// room makes place for one more state: those that every cursor has passed go.
func (m *meter) room() {
	if m.n < len(m.line) {
		return
	}
	oldest := m.sectionCursor
	for _, c := range m.cursor {
		oldest = min(oldest, c)
	}
	drop := int(oldest - m.seq)
	if m.n == maxStates {
		drop = max(drop, 1)
	}
	if drop > 0 {
		m.first = (m.first + drop) % len(m.line)
		m.n -= drop
		m.seq += int64(drop)
		return
	}
	grown := make([]metered, max(64, 2*len(m.line)))
	for i := range m.n {
		grown[i] = m.line[(m.first+i)%len(m.line)]
	}
	m.line, m.first = grown, 0
}

// seek puts every cursor to what is on the ground at tNS; time only goes on.
func (m *meter) seek(tNS int64) {
	m.sectionCursor = m.forward(m.sectionCursor, tNS-m.sectionLagNS)
	for i := range m.cursor {
		m.cursor[i] = m.forward(m.cursor[i], tNS-m.lagNS[i])
	}
}

func (m *meter) forward(c, atNS int64) int64 {
	for c < m.last() && m.at(max(c+1, m.seq)).atNS <= atNS {
		c = max(c+1, m.seq)
	}
	return c
}

// next is the first moment after tNS at which anything on the ground changes,
// never if nothing is known to.
func (m *meter) next(tNS int64) int64 {
	v := m.nextOf(m.sectionCursor, m.sectionLagNS, tNS)
	for i, c := range m.cursor {
		v = min(v, m.nextOf(c, m.lagNS[i], tNS))
	}
	return v
}

func (m *meter) nextOf(c, lagNS, tNS int64) int64 {
	v := never
	if c < m.last() {
		v = m.at(max(c+1, m.seq)).atNS + lagNS
	}
	if c >= m.seq {
		if ends := m.at(c).atNS + m.staleNS + lagNS; ends > tNS {
			v = min(v, ends)
		}
	}
	return v
}

// sectionsAt is the state of the sections on the ground at tNS, nil when it is
// not known: nothing heard yet, or nothing for too long.
func (m *meter) sectionsAt(tNS int64) *metered {
	return m.fresh(m.sectionCursor, tNS-m.sectionLagNS)
}

// tankAt is what tank i laid on the ground at tNS, nil when not known.
func (m *meter) tankAt(i int, tNS int64) *held {
	if s := m.fresh(m.cursor[i], tNS-m.lagNS[i]); s != nil {
		return &s.tanks[i]
	}
	return nil
}

func (m *meter) fresh(c, atNS int64) *metered {
	if m.n == 0 || c < m.seq {
		return nil
	}
	if s := m.at(c); atNS-s.atNS < m.staleNS {
		return s
	}
	return nil
}

// silentNS is how much of the time from aNS to bNS the controller had been
// silent for longer than it may, by the states known now. Time before the first
// report does not count: nothing has fallen silent yet.
func (m *meter) silentNS(aNS, bNS int64) int64 {
	total := int64(0)
	for i := m.n - 1; i >= 0; i-- {
		s := m.at(m.seq + int64(i))
		until := never
		if i+1 < m.n {
			until = m.at(m.seq + int64(i) + 1).atNS
		}
		total += max(0, min(bNS, until)-max(aNS, s.atNS+m.staleNS))
		if s.atNS <= aNS {
			break
		}
	}
	return total
}
