package nmea

import "time"

// Reader turns arriving lines into fixes: one for each epoch that has a valid
// position. The zero value is ready. Its memory does not grow with the input.
type Reader struct {
	decoder decoder
	tally   Tally
	gather  gatherer
	fixes   []Fix
}

// Line takes the next line, without its line end, and the moment of its
// arrival. It returns the fixes that the line completes, mostly none or one;
// the slice is valid until the next call. Times that repeat or run back are
// handed on as the receiver sent them.
func (r *Reader) Line(at time.Time, line []byte) []Fix {
	r.fixes = r.fixes[:0]
	r.tally.Lines++
	var s sentence
	found := false
	for candidates := scan(line); ; {
		c, more := candidates.next()
		if !more {
			break
		}
		if c.verdict != verdictGood {
			if c.mayBeDamaged() {
				r.gather.damage(at)
			}
			if c.verdict == verdictBad {
				found = true
				r.tally.sentence(c.body(), kindOf(c.body()), ResultBadChecksum)
			}
			continue
		}
		found = true
		k, result := r.decoder.decode(c, &s)
		r.tally.sentence(c.body(), k, result)
		if result == ResultUsed {
			r.fixes = r.gather.take(at, &s, r.fixes)
		} else {
			r.gather.passBy(at)
		}
	}
	if !found && !blank(line) {
		r.tally.Unparsed++
	}
	return r.fixes
}

// Flush is the end of the input: it returns the fix of the epoch in hand, if
// there is one.
func (r *Reader) Flush() []Fix {
	r.fixes = r.gather.close(false, r.fixes[:0])
	return r.fixes
}

// Tally is what has been counted so far. It belongs to the Reader.
func (r *Reader) Tally() *Tally { return &r.tally }

// Repeated counts the position sentences that came after the fix of their epoch:
// the receiver sent an epoch again, or a sentence late. They change nothing.
func (r *Reader) Repeated() uint64 { return r.gather.repeated }

func blank(line []byte) bool {
	for _, c := range line {
		if c != ' ' && c != '\t' && c != '\r' {
			return false
		}
	}
	return true
}
