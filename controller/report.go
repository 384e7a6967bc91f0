package controller

// MaxSections is the largest number of sections that a report can carry.
const MaxSections = 256

// Sections is the on/off state of a stated number of sections, the first one
// leftmost in the direction of travel. The zero value has no section.
type Sections struct {
	n    uint16
	bits [MaxSections / 64]uint64
}

// NewSections returns n sections that are all off. n is cut to [0, MaxSections].
func NewSections(n int) Sections {
	return Sections{n: uint16(max(0, min(n, MaxSections)))}
}

// AllSections returns n sections that are all on.
func AllSections(n int) Sections {
	s := NewSections(n)
	for i := range s.Len() {
		s.Set(i, true)
	}
	return s
}

// Len is the stated number of sections.
func (s Sections) Len() int { return int(s.n) }

// On tells whether section i, counted from 0 at the left, is on. A section
// beyond the stated number is not.
func (s Sections) On(i int) bool {
	return i >= 0 && i < int(s.n) && s.bits[i/64]>>(i%64)&1 == 1
}

// Set switches section i. A section beyond the stated number is ignored.
func (s *Sections) Set(i int, on bool) {
	if i < 0 || i >= int(s.n) {
		return
	}
	if on {
		s.bits[i/64] |= 1 << (i % 64)
	} else {
		s.bits[i/64] &^= 1 << (i % 64)
	}
}

// Any tells whether at least one section is on.
func (s Sections) Any() bool {
	for _, w := range s.bits {
		if w != 0 {
			return true
		}
	}
	return false
}

// String writes the sections as a bit string, leftmost first.
func (s Sections) String() string {
	b := make([]byte, s.n)
	for i := range b {
		b[i] = '0'
		if s.On(i) {
			b[i] = '1'
		}
	}
	return string(b)
}

// Has tells which members of a Report or a Reading the line carried.
type Has uint8

// The optional members of a Report.
const (
	HasWork     Has = 1 << iota // Work
	HasSections                 // Sections
	HasSpeed                    // SpeedMPS
)

// The optional members of a Reading.
const (
	HasRate   Has = 1 << iota // Rate
	HasTarget                 // Target
	HasFlow                   // Flow
	HasTotal                  // Total
	HasLevel                  // Level
)

// Report is one decoded line of the rate controller: only what that line said.
// What holds from one line to the next is the reader's business. Tanks belongs
// to the decoder and is valid until its next line.
type Report struct {
	Tanks    []Reading // in ascending order of tank, each tank once
	Sections Sections
	SpeedMPS float64
	Has      Has
	Work     bool
}

// Reading is what one line said of one tank. Rates are per m2 of the sections
// that are on, flows per second; mass in kg, volume in litres, counts in seeds,
// as each Quantity's Dim says.
type Reading struct {
	Rate   Quantity
	Target Quantity
	Flow   Quantity
	Total  Quantity
	Level  Quantity
	Tank   int // from 1
	Has    Has
}
