package supply

// stretch is a piece of the way ahead, m from the bar.
type stretch struct{ fromM, toM float64 }

// stretches is the way ahead on a pass: where on it there is work.
type stretches struct {
	work  []stretch // ascending, apart
	endM  float64   // of the pass
	known bool
}

// add adds work that begins no earlier than what is there.
func (s *stretches) add(w stretch) {
	if n := len(s.work); n > 0 && w.fromM <= s.work[n-1].toM {
		w.fromM = s.work[n-1].toM
		if w.toM > w.fromM {
			s.work[n-1].toM = w.toM
		}
		return
	}
	if w.toM > w.fromM {
		s.work = append(s.work, w)
	}
}

// workM is how much of the way is work.
func (s stretches) workM() float64 {
	sum := 0.0
	for _, w := range s.work {
		sum += w.toM - w.fromM
	}
	return sum
}

// after is how far on workM metres of work are done; false where the pass ends before.
func (s stretches) after(workM float64) (inM float64, ok bool) {
	for _, w := range s.work {
		if long := w.toM - w.fromM; workM < long {
			return w.fromM + workM, true
		} else {
			workM -= long
		}
	}
	return 0, false
}

// cut ends the pass m metres earlier.
func (s stretches) cut(m float64) stretches {
	out := stretches{known: s.known, endM: max(0, s.endM-m)}
	for _, w := range s.work {
		if w.fromM < out.endM {
			out.add(stretch{w.fromM, min(w.toM, out.endM)})
		}
	}
	return out
}
