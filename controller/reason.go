package controller

import "strings"

// Reason is why a line gave no report.
type Reason uint8

// The reasons. The first two are no refusals: see Rejected.
const (
	ReasonBlank         Reason = iota // nothing but spaces
	ReasonHeader                      // names the columns of a delimited profile
	ReasonTooLong                     // longer than MaxLine
	ReasonNotText                     // control characters or bytes that are not UTF-8
	ReasonChecksum                    // wrong, cut, or missing where one is required
	ReasonBadPair                     // keyvalue: a piece without "="
	ReasonNoKnownKey                  // keyvalue: none of the keys is ours
	ReasonNoMatch                     // pattern: the line does not match
	ReasonBadHeader                   // delimited: the header line does not name the columns asked for
	ReasonMissingColumn               // delimited: the line ends before the column
	ReasonEmpty                       // a key without a value, or no value in the whole line
	ReasonDuplicate                   // the same value twice
	ReasonBadTank                     // not a tank number from 1 to MaxTank
	ReasonBadWork                     // neither 0 nor 1
	ReasonBadSections                 // not in the profile's format, or more than there are
	ReasonBadNumber                   // not a finite decimal number
	ReasonOutOfRange                  // a number that no machine can mean
	ReasonBadUnit                     // unknown, or not a unit of that value or of that tank
	reasonEnd
)

// ReasonCount is the number of reasons: the size of an array indexed by Reason.
const ReasonCount = int(reasonEnd)

// Rejected tells whether the line counts as rejected. Blank and header lines
// are in order, they only report nothing.
func (r Reason) Rejected() bool { return r != ReasonBlank && r != ReasonHeader }

// String is the metric label of the reason.
func (r Reason) String() string {
	switch r {
	case ReasonBlank:
		return "blank"
	case ReasonHeader:
		return "header"
	case ReasonTooLong:
		return "too_long"
	case ReasonNotText:
		return "not_text"
	case ReasonChecksum:
		return "checksum"
	case ReasonBadPair:
		return "bad_pair"
	case ReasonNoKnownKey:
		return "no_known_key"
	case ReasonNoMatch:
		return "no_match"
	case ReasonBadHeader:
		return "bad_header"
	case ReasonMissingColumn:
		return "missing_column"
	case ReasonEmpty:
		return "empty"
	case ReasonDuplicate:
		return "duplicate"
	case ReasonBadTank:
		return "bad_tank"
	case ReasonBadWork:
		return "bad_work"
	case ReasonBadSections:
		return "bad_sections"
	case ReasonBadNumber:
		return "bad_number"
	case ReasonOutOfRange:
		return "out_of_range"
	case ReasonBadUnit:
		return "bad_unit"
	default:
		return "unknown"
	}
}

// LineError is why one line was refused. Field is the key, column or value in
// question ("tank.1.rate"), Text the piece of the line, cut to a readable
// length; both may be empty. It owns its memory.
type LineError struct {
	Reason Reason
	Field  string
	Text   string
	want   string // what should have stood there
}

// Error reads `tank.1.rate "41.2L/min": bad_unit: want a rate, kg, g …`.
func (e *LineError) Error() string {
	var b strings.Builder
	b.WriteString(e.Field)
	if e.Text != "" {
		if e.Field != "" {
			b.WriteByte(' ')
		}
		b.WriteByte('"')
		b.WriteString(e.Text)
		b.WriteByte('"')
	}
	if b.Len() > 0 {
		b.WriteString(": ")
	}
	b.WriteString(e.Reason.String())
	if e.want != "" {
		b.WriteString(": want ")
		b.WriteString(e.want)
	}
	return b.String()
}

func refuse(r Reason, field string, text []byte, want string) *LineError {
	return &LineError{Reason: r, Field: field, Text: shorten(text), want: want}
}
