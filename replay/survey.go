package replay

import (
	"drawbar/nmea"
	"drawbar/replay/statement"
)

// Survey sums up a recording from its head and its events. The zero value is ready.
type Survey struct {
	contents Contents
	reader   nmea.Reader
	next     uint32
}

// Head takes what the recording says at its start.
func (s *Survey) Head(h Head) {
	s.next = h.First
	if h.Part == 1 && h.First > 1 {
		s.contents.Missing = int(h.First - 1) // before the first part could be written
	}
	s.contents.addField(h.Field)
}

// Add takes the next event and its number, 0 where it has none.
func (s *Survey) Add(e Event, seq uint32) {
	c := &s.contents
	if c.Total() == 0 {
		c.First = e.At
	}
	c.Last = e.At
	c.Lines[e.Stream]++
	if s.next != 0 && seq > s.next {
		c.Missing += int(seq - s.next)
	}
	s.next = seq + 1
	switch e.Stream {
	case StreamGNSS:
		s.fixes(s.reader.Line(e.At, e.Line))
	case StreamOperator:
		if op, _ := statement.ParseLine(e.Line); op.Field != nil && !op.Correction() {
			c.addField(*op.Field)
		}
	}
}

// Damage takes a damaged place.
func (s *Survey) Damage(e *CorruptError) {
	s.contents.Damaged++
	s.contents.LostBytes += e.Bytes
}

func (s *Survey) fixes(fixes []nmea.Fix) {
	for _, f := range fixes {
		if s.contents.Begin.IsZero() {
			s.contents.Begin = f.Time
		}
		s.contents.End = f.Time
	}
}

// Contents ends the survey of what m has read to its end; nil stands for a source
// that was whole. What was lost when the file was packed stays lost.
func (s *Survey) Contents(m *MCAPReader) Contents {
	s.fixes(s.reader.Flush())
	c := s.contents
	if m == nil {
		return c
	}
	c.Cut = !m.Closed()
	if was, ok := m.Contents(); ok {
		c.Cut = c.Cut || was.Cut
		c.Damaged += was.Damaged
		c.LostBytes += was.LostBytes
	}
	return c
}
