package replay

import (
	"bytes"
	"errors"
	"io"

	"drawbar/coverage"
	"drawbar/replay/statement"
)

// Ahead is what must be known of recorded input before it is replayed.
type Ahead struct {
	// Corrections among the operator lines, in the order in which they were made.
	// They act on work that came before them.
	Corrections []coverage.Correction
	Has         [StreamOperator + 1]bool // the streams in it
}

// LookAhead reads recorded input through for what must be known before it is
// replayed. Damaged places are passed over here; whoever replays the input is told
// of them.
func LookAhead(src Source) (Ahead, error) {
	var a Ahead
	for {
		e, err := src.Next()
		if errors.Is(err, io.EOF) {
			return a, nil
		}
		var corrupt *CorruptError
		if errors.As(err, &corrupt) {
			continue
		}
		if err != nil {
			return Ahead{}, err
		}
		a.Has[e.Stream] = true
		if e.Stream != StreamOperator || !bytes.Contains(e.Line, []byte(`"from"`)) {
			continue
		}
		if op, _ := statement.ParseLine(e.Line); op.Correction() {
			a.Corrections = append(a.Corrections, correctionOf(op))
		}
	}
}

// Corrections are those of lines that were said later; a line that corrects nothing is
// passed over. See statement.Effective for those that act.
func Corrections(lines []statement.Later) (out []coverage.Correction) {
	for _, l := range lines {
		if l.Correction() {
			out = append(out, correctionOf(l.Operator))
		}
	}
	return out
}

func correctionOf(op statement.Operator) coverage.Correction {
	return coverage.Correction{From: *op.From, To: *op.To, Statement: stated(op)}
}
