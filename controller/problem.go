package controller

import "fmt"

// Problem is one thing wrong in a configuration or a statement: where, what
// stands there and what should stand there instead. Path is dotted with
// indexes in brackets, e.g. "columns[1].unit", relative to what was compiled.
type Problem struct {
	Path string
	Got  string
	Want string
}

// Error reads "columns[1].unit: got furlong, want a unit of rate such as kg/ha".
func (p Problem) Error() string {
	if p.Path == "" { // the whole
		return fmt.Sprintf("got %s, want %s", p.Got, p.Want)
	}
	return fmt.Sprintf("%s: got %s, want %s", p.Path, p.Got, p.Want)
}
