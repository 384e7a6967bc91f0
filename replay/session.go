package replay

import (
	"fmt"
	"time"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/nmea"
	"drawbar/replay/statement"
)

// Setup is what a session is told at its start. The zero value counts, places
// and measures distance, and reads reports as key=value lines; zero Limits and a
// zero StaleS are the defaults.
type Setup struct {
	Coverage coverage.Setup
	Line     controller.ProfileSpec // zero: keyvalue
	LatencyS float64                // from an epoch to the arrival of its first sentence
	Boundary Outline                // of Coverage.Field; nil = not stated
}

// ControllerTally counts the controller's lines.
type ControllerTally struct {
	Lines    int
	Reports  int
	Rejected [controller.ReasonCount]int // by reason; those that are no rejection stay 0
}

// defaultStaleS is how long the controller may be silent if nothing else is said.
const defaultStaleS = 2

// maxFaults bounds how many faults of operator lines are told one by one.
const maxFaults = 20

// Session is one recorded run: every event that is fed to it, in order, becomes
// fixes, reports and statements, and these become coverage. Live and recorded
// input go through the same Session; it keeps no clock, so its result depends
// on the events alone.
type Session struct {
	setup   Setup
	reader  nmea.Reader
	decoder *controller.Decoder
	engine  *coverage.Engine
	align   align
	tally   ControllerTally
	tanks   []coverage.Tank     // as stated last, for bare rates
	bar     *coverage.Implement // as stated last, nil = not known
	active  uint64              // corrections by which the lines are read now
	faults  []string
	dropped int // faults beyond maxFaults
	first   time.Time
	last    time.Time
	events  uint64
	fixes   [nmea.QualityRTK + 1]uint64
	fix     nmea.Fix  // the latest; its Time is zero before the first
	heard   time.Time // arrival of the latest report
	marked  int       // marks said so far
	done    bool
}

// NewSession returns a session in the given state. The error names what is
// wrong in the line profile.
func NewSession(s Setup) (*Session, error) {
	if s.Coverage.Limits == (coverage.Limits{}) {
		s.Coverage.Limits = coverage.DefaultLimits()
	}
	if s.Coverage.StaleS == 0 {
		s.Coverage.StaleS = defaultStaleS
	}
	s.Coverage.Boundary = s.Boundary.Boundary()
	n := &Session{setup: s, bar: s.Coverage.Implement, tanks: append([]coverage.Tank(nil), s.Coverage.Tanks...)}
	profile, problems := controller.Compile(s.Line, statement.Defaults(n.tanks, n.bar))
	if len(problems) > 0 {
		return nil, fmt.Errorf("compile the line profile: %w", problems[0])
	}
	n.decoder = profile.NewDecoder()
	n.engine = coverage.NewEngine(s.Coverage)
	n.align = align{to: n.engine, latencyNS: int64(float64(s.LatencyS * 1e9))}
	return n, nil
}

// Feed takes the next event. The event's line is not kept.
func (s *Session) Feed(e Event) {
	if s.first.IsZero() {
		s.first = e.At
	}
	s.last = e.At
	s.events++
	switch e.Stream {
	case StreamGNSS:
		for _, f := range s.reader.Line(e.At, e.Line) {
			s.fix = f
			s.fixes[f.Quality]++
			s.align.fix(f)
		}
	case StreamController:
		s.report(e)
	case StreamOperator:
		s.operator(e)
	}
}

func (s *Session) report(e Event) {
	s.tally.Lines++
	s.correctDefaults(e.At)
	r, bad := s.decoder.Line(e.Line)
	if bad != nil {
		if bad.Reason.Rejected() {
			s.tally.Rejected[bad.Reason]++
		}
		return
	}
	s.tally.Reports++
	s.heard = e.At
	s.align.report(e.At, r)
}

func (s *Session) operator(e Event) {
	op, faults := statement.ParseLine(e.Line)
	for _, f := range faults {
		s.fault(e.At, f.Problem.Error())
	}
	if op.Correction() {
		if len(s.setup.Coverage.Corrections) == 0 {
			s.fault(e.At, "a correction that came after the work it corrects; replay the recording to apply it")
		}
		return
	}
	s.learn(op)
	st := stated(op)
	if st.Mark != nil {
		s.number(e.At, st.Mark)
	}
	s.align.statement(e.At, st)
}

// correctDefaults reads the lines within a correction of the tanks by what the
// correction says they held.
func (s *Session) correctDefaults(at time.Time) {
	if len(s.setup.Coverage.Corrections) == 0 {
		return
	}
	t := at.Add(-time.Duration(s.align.clock.offsetNS()))
	tanks, active := s.tanks, uint64(0)
	for i, c := range s.setup.Coverage.Corrections {
		if (c.Statement.Tanks != nil || c.Statement.Adjust != nil) && !t.Before(c.From) && t.Before(c.To) {
			tanks = coverage.AdjustTanks(coverage.ReplaceTanks(tanks, c.Statement.Tanks), c.Statement.Adjust)
			active |= 1 << (i % 64)
		}
	}
	if active != s.active {
		s.active = active
		s.decoder.SetDefaults(statement.Defaults(tanks, s.bar))
	}
}

// learn keeps what the reading of the controller's lines depends on. It acts at
// once: the lines that follow are read by it.
func (s *Session) learn(op statement.Operator) {
	if op.Implement == nil && op.Tanks == nil && op.Adjust == nil {
		return
	}
	if op.Implement != nil {
		s.bar = op.Implement
	}
	s.tanks = coverage.AdjustTanks(coverage.ReplaceTanks(s.tanks, op.Tanks), op.Adjust)
	s.decoder.SetDefaults(statement.Defaults(s.tanks, s.bar))
	s.active = 0
}

// number gives a mark its number, by which it can be withdrawn.
func (s *Session) number(at time.Time, m *coverage.MarkWish) {
	switch {
	case m.Undo == 0:
		s.marked++
		m.Number = s.marked
	case m.Undo > s.marked:
		s.fault(at, fmt.Sprintf("mark.undo: mark %d is to be withdrawn, and %d were left so far", m.Undo, s.marked))
	}
}

// Marked is how many marks were said so far, those withdrawn since included: the
// number of the latest.
func (s *Session) Marked() int { return s.marked }

func (s *Session) fault(at time.Time, text string) {
	if len(s.faults) == maxFaults {
		s.dropped++
		return
	}
	s.faults = append(s.faults, fmt.Sprintf("operator line of %s: %s", at.UTC().Format(stampLayout), text))
}

// stated is an operator line as the engine takes it.
func stated(op statement.Operator) coverage.Statement {
	out := coverage.Statement{
		Field: op.Field, Implement: op.Implement, Operation: op.Operation, Tanks: op.Tanks, Adjust: op.Adjust,
		Person: op.Person, Crop: op.Crop, GrowthStage: op.GrowthStage, Refill: op.Refill, Weighed: op.Weighed,
		Note: op.Note, Weather: op.Weather,
	}
	if op.HasBoundary {
		b := Outline(op.Boundary).Boundary()
		out.Boundary = &b
	}
	switch m := op.Mark; {
	case m == nil:
	case m.Of != "":
		out.Settled = &coverage.MarkSettled{Of: m.Of, Done: m.Done}
	default:
		out.Mark = &coverage.MarkWish{Kind: m.Kind, Note: m.Note, LatDeg: m.LatDeg, LonDeg: m.LonDeg, Undo: m.Undo}
		switch m.At {
		case statement.MarkAtAntenna:
			out.Mark.Place = coverage.AtAntenna
		case statement.MarkAtPosition:
			out.Mark.Place = coverage.AtPosition
		}
	}
	return out
}

// Finish ends the session: what was waiting for more input is settled without
// it. A second call does nothing.
func (s *Session) Finish() {
	if s.done {
		return
	}
	s.done = true
	for _, f := range s.reader.Flush() {
		s.fix = f
		s.fixes[f.Quality]++
		s.align.fix(f)
	}
	s.align.finish()
	s.engine.Finish()
}

// Operations are the operations of the session, in order.
func (s *Session) Operations() []*coverage.Operation { return s.engine.Operations() }

// Marks are the marks of the session, in order.
func (s *Session) Marks() []coverage.Mark { return s.engine.Marks() }

// FixCount is how many fixes there were so far.
func (s *Session) FixCount() (n uint64) {
	for _, q := range s.fixes {
		n += q
	}
	return n
}

// GNSS counts what the receiver sent.
func (s *Session) GNSS() *nmea.Tally { return s.reader.Tally() }

// Controller counts what the rate controller sent.
func (s *Session) Controller() ControllerTally { return s.tally }
