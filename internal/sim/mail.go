package sim

import "math"

// The streams of a session, as capture text names them.
const (
	StreamGNSS       = "gnss"
	StreamController = "controller"
	StreamOperator   = "operator"
)

// mail holds lines on their way and hands them over in order of arrival. Lines
// of one stream never overtake each other: they come down one wire.
type mail struct {
	heap []letter
	last map[string]float64
	free [][]byte
	seq  int
}

type letter struct {
	atS    float64
	seq    int
	stream string
	line   []byte
}

func newMail() *mail { return &mail{last: map[string]float64{}} }

func (a letter) before(b letter) bool { return a.atS < b.atS || a.atS == b.atS && a.seq < b.seq }

// post sends a copy of the line to arrive at atS, or as soon after as the wire
// is free.
func (m *mail) post(atS float64, stream string, line []byte) {
	atS = math.Round(atS*1e6) / 1e6
	if last, ok := m.last[stream]; ok {
		atS = max(atS, last)
	}
	m.last[stream] = atS
	var buf []byte
	if n := len(m.free); n > 0 {
		buf, m.free = m.free[n-1][:0], m.free[:n-1]
	}
	m.heap = append(m.heap, letter{atS, m.seq, stream, append(buf, line...)})
	m.seq++
	for i := len(m.heap) - 1; i > 0; {
		up := (i - 1) / 2
		if !m.heap[i].before(m.heap[up]) {
			break
		}
		m.heap[i], m.heap[up] = m.heap[up], m.heap[i]
		i = up
	}
}

// wholeMilliseconds is how a line that jitters anyway is stamped.
func wholeMilliseconds(s float64) float64 { return math.Round(s*1e3) / 1e3 }

// take returns the next line that arrives at or before untilS. Its bytes are
// valid until the next post.
func (m *mail) take(untilS float64) (letter, bool) {
	if len(m.heap) == 0 || m.heap[0].atS > untilS {
		return letter{}, false
	}
	first := m.heap[0]
	n := len(m.heap) - 1
	m.heap[0] = m.heap[n]
	m.heap = m.heap[:n]
	for i := 0; ; {
		down := 2*i + 1
		if down >= n {
			break
		}
		if down+1 < n && m.heap[down+1].before(m.heap[down]) {
			down++
		}
		if !m.heap[down].before(m.heap[i]) {
			break
		}
		m.heap[i], m.heap[down] = m.heap[down], m.heap[i]
		i = down
	}
	m.free = append(m.free, first.line)
	return first, true
}
