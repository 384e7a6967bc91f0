package replay

import (
	"bytes"
	"errors"
	"io"

	"drawbar/coverage"
	"drawbar/replay/statement"
)

// Corrections collects the corrections among the operator lines of recorded
// input, in the order in which they were made. They act on work that came
// before them, so a session must know them at its start. Damaged places are
// passed over here; whoever replays the input is told of them.
func Corrections(src Source) ([]coverage.Correction, error) {
	var out []coverage.Correction
	for {
		e, err := src.Next()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		var corrupt *CorruptError
		if errors.As(err, &corrupt) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if e.Stream != StreamOperator || !bytes.Contains(e.Line, []byte(`"from"`)) {
			continue
		}
		if op, _ := statement.ParseLine(e.Line); op.Correction() {
			out = append(out, coverage.Correction{From: *op.From, To: *op.To, Statement: stated(op)})
		}
	}
}
