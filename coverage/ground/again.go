package ground

// Cause is why ground was covered again, by a number that whoever adds to the Set
// gives a meaning to.
type Cause uint8

// Causes is how many there are, from 0.
const Causes = 3

// stretch is a span of a row that was covered again.
type stretch struct {
	row int32
	span
	cause Cause // once it is known
}

// Settle says why all that is waiting was covered again. A place that is covered a
// third time stays with the cause of the second.
func (s *Set) Settle(cause Cause) {
	if v := &s.survey; !v.done {
		for len(v.causes) < len(v.log) {
			v.causes = append(v.causes, cause)
		}
	}
	s.tell(cause)
}

func (s *Set) tell(cause Cause) {
	for i := s.told; i < len(s.waiting); i++ {
		s.waiting[i].cause = cause
	}
	s.told = len(s.waiting)
}

// workOffSome does a share of what is there, so that no one quad takes the time of
// many.
func (s *Set) workOffSome() {
	if s.told > 0 {
		s.workOff(min(s.told, 3+s.told/4))
	}
}

// workOff brings the first n of what was waiting, whose cause is known, onto the
// pages.
func (s *Set) workOff(n int) {
	var (
		p  *page
		at int64
	)
	for _, w := range s.waiting[:n] {
		number, i := floorDiv(int64(w.row), pageRows)
		if p == nil || number != at {
			p, at = s.page(number), number
		}
		p.settle(int(i/againPitch), w.span, w.cause, 0)
	}
	s.waiting = append(s.waiting[:0], s.waiting[n:]...)
	s.told -= n
}

// settle marks a span as covered twice for a cause, but for what another one from
// from on has already.
func (p *page) settle(i int, v span, cause, from Cause) {
	for c := from; c < Causes; c++ {
		if c == cause || p.twice[c] == nil {
			continue
		}
		r := &p.twice[c][i]
		for k := r.seek(v.lo); k < len(r.s) && r.s[k].lo < v.hi; k++ {
			if r.s[k].lo > v.lo {
				p.settle(i, span{v.lo, r.s[k].lo}, cause, c+1)
			}
			if v.lo = max(v.lo, r.s[k].hi); v.lo >= v.hi {
				return
			}
		}
	}
	if p.twice[cause] == nil {
		p.twice[cause] = new(strip)
	}
	p.twice[cause][i].add(v.lo, v.hi, 0, nil)
}

// Only is the set as if what was covered again for other causes had been covered
// once: its shape of what was covered twice is that of one cause. It is a view
// for reading, and good for as long as nothing is added to the set.
func (s *Set) Only(cause Cause) *Set {
	v := *s.settled()
	v.owner, v.only = new(owner), cause+1
	return &v
}

// settled is the set itself, or a copy where something is waiting.
func (s *Set) settled() *Set {
	if len(s.waiting) == 0 {
		return s
	}
	c := s.Clone()
	c.only = s.only
	return c
}

// twice is what of a page's line was covered at least twice, for the causes that
// the set shows; in buf, which is returned, or in the page.
func (s *Set) twice(p *page, i int64, buf []span) (line, _ []span) {
	if s.only > 0 {
		if t := p.twice[s.only-1]; t != nil {
			line = t[i].s
		}
		return line, buf
	}
	n := 0
	var of [Causes][]span
	for _, t := range p.twice {
		if t != nil && len(t[i].s) > 0 {
			of[n] = t[i].s
			n++
		}
	}
	if n < 2 {
		return of[0], buf
	}
	buf = buf[:0]
	for {
		first := -1
		for k := range n {
			if len(of[k]) > 0 && (first < 0 || of[k][0].lo < of[first][0].lo) {
				first = k
			}
		}
		if first < 0 {
			return buf, buf
		}
		v := of[first][0]
		of[first] = of[first][1:]
		if m := len(buf); m > 0 && buf[m-1].hi == v.lo {
			buf[m-1].hi = v.hi
		} else {
			buf = append(buf, v)
		}
	}
}
