package statement

import (
	"encoding/json"
	"errors"
	"time"
)

// Later is one line of a file of corrections: a correction, or that an earlier line
// of the file is taken back.
type Later struct {
	Operator     // the correction; of a line taken back only Why, By and Made
	Undo     int // not 0: the line that is taken back, from 1; nothing is corrected
	Number   int // of the line itself in its file, from 1; 0 = not known
}

// maxLater bounds the number of a correction.
const maxLater = 1_000_000

// ParseLater reads one line of a file of corrections. With a fault in from, to, why
// or undo nothing of it acts: neither Correction nor Undo.
func ParseLater(line []byte) (Later, []Fault) {
	n, err := FromJSON(line)
	if err != nil {
		var fault Fault
		errors.As(err, &fault)
		return Later{}, []Fault{fault}
	}
	var faults Faults
	l := later(n, &faults)
	return l, faults.List()
}

func later(n *Node, faults *Faults) (l Later) {
	if n.Get("undo") == nil {
		op := Line(n, faults)
		if !op.Correction() {
			if faults.Len() == 0 {
				faults.Add(n, "from", "nothing", "from, to and why together in a correction")
			}
			return Later{}
		}
		return Later{Operator: op}
	}
	before := faults.Len()
	o, _ := Open(n, "", faults, []string{"undo", "why", "by", "made"})
	if o.Get("why") == nil {
		o.Missing("why", "why it is taken back")
	}
	l.Undo, _ = o.Int("undo", 1, maxLater)
	o.author(&l.Operator)
	if faults.Len() > before {
		return Later{}
	}
	return l
}

// MarshalJSON writes the line.
func (l Later) MarshalJSON() ([]byte, error) {
	if l.Undo == 0 {
		return l.Operator.MarshalJSON()
	}
	return json.Marshal(struct {
		Undo int     `json:"undo"`
		Why  *string `json:"why,omitempty"`
		By   *string `json:"by,omitempty"`
		Made string  `json:"made,omitempty"`
	}{l.Undo, l.Why, l.By, stampOf(l.Made)})
}

func stampOf(t *time.Time) string {
	if t == nil {
		return ""
	}
	return t.UTC().Format(time.RFC3339Nano)
}

// TakenBack tells of each line, in the order of the file, which later one took it
// back; 0: none did, or that one was itself taken back. A line takes back only what
// stands before it.
func TakenBack(lines []Later) []int {
	by := make([]int, len(lines))
	at := make(map[int]int, len(lines))
	for i, l := range lines {
		at[l.Number] = i
	}
	for i := len(lines) - 1; i >= 0; i-- {
		if lines[i].Undo == 0 || by[i] != 0 {
			continue
		}
		if of, ok := at[lines[i].Undo]; ok && of < i {
			by[of] = lines[i].Number
		}
	}
	return by
}

// Effective are the corrections that act: those that were not taken back, in the
// order of the file.
func Effective(lines []Later) []Later {
	var out []Later
	for i, by := range TakenBack(lines) {
		if by == 0 && lines[i].Correction() {
			out = append(out, lines[i])
		}
	}
	return out
}
