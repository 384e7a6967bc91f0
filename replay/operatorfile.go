package replay

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
)

// OperatorReader reads operator lines from a file that holds nothing else, one JSON
// object a line (https://jsonlines.org), such as the corrections beside a session.
// Blank lines are passed over. The events have no time: what is said later about a
// session carries its own.
type OperatorReader struct {
	c CaptureReader
}

// NewOperatorReader reads lines from r; name stands for it in errors.
func NewOperatorReader(r io.Reader, name string) *OperatorReader {
	return &OperatorReader{CaptureReader{r: bufio.NewReaderSize(r, captureBuffer), name: name}}
}

// Next returns the next line, io.EOF after the last one, or a *CorruptError for a
// line that is no JSON object, behind which it goes on.
func (o *OperatorReader) Next() (Event, error) {
	c := &o.c
	for {
		start := c.offset
		text, err := c.readLine()
		if err == io.EOF {
			return Event{}, io.EOF
		}
		if err != nil && err != errLongLine {
			return Event{}, fmt.Errorf("read %s: %w", c.name, err)
		}
		c.line++
		corrupt := &CorruptError{File: c.name, Line: c.line, Offset: start}
		switch {
		case err == errLongLine:
			corrupt.Why = fmt.Sprintf("longer than %d bytes; it was passed over", MaxCaptureLine)
			return Event{}, corrupt
		case blank(text):
			continue
		case text[0] != '{' || !json.Valid(text):
			corrupt.Why = "want one JSON object on the line"
			if c.cut {
				corrupt.Why += "; the file ends within this line"
			}
			return Event{}, corrupt
		}
		return Event{Stream: StreamOperator, Line: text}, nil
	}
}
