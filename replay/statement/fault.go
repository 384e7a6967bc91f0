package statement

import (
	"fmt"

	"drawbar/controller"
)

// Fault is one thing wrong in a statement, with its place in the text.
type Fault struct {
	controller.Problem
	Line int // from 1; 0 = not known
	Col  int // from 1, in characters; 0 = not known
}

// Error reads "14:11: tanks[0].target: got 112 l/ha, want …", without the
// place where it is not known.
func (f Fault) Error() string {
	if f.Line == 0 {
		return f.Text()
	}
	return fmt.Sprintf("%d:%d: %s", f.Line, f.Col, f.Text())
}

// Text is the fault without its place.
func (f Fault) Text() string {
	if f.Path == "" {
		return fmt.Sprintf("got %s, want %s", f.Got, f.Want)
	}
	return f.Problem.Error()
}

// maxFaults is how many faults are kept: more than a person reads at once.
const maxFaults = 100

// Faults collects what is wrong. The zero value is ready. Beyond a hundred
// faults only their number is kept.
type Faults struct {
	list []Fault
	more int
}

// List is the faults in the order in which they were found.
func (f *Faults) List() []Fault { return f.list }

// Len counts all faults, those not kept included.
func (f *Faults) Len() int { return len(f.list) + f.more }

// More counts the faults that were not kept.
func (f *Faults) More() int { return f.more }

// Add notes a fault at node n, which may be nil.
func (f *Faults) Add(n *Node, path, got, want string) {
	fault := Fault{Problem: controller.Problem{Path: path, Got: got, Want: want}}
	if n != nil {
		fault.Line, fault.Col = int(n.Line), int(n.Col)
	}
	f.Put(fault)
}

// Put notes a fault.
func (f *Faults) Put(fault Fault) {
	if len(f.list) >= maxFaults {
		f.more++
		return
	}
	f.list = append(f.list, fault)
}
