package nmea

import (
	"cmp"
	"slices"
)

// Result says what became of a sentence. Its String is the metric label.
type Result uint8

// The results, in the order in which [Tally.Counts] gives them.
const (
	ResultUsed        Result = iota // good checksum, read, part of an epoch
	ResultUnused                    // good checksum, of a type that is passed over
	ResultUnreadable                // good checksum, of a used type, but its content cannot be read
	ResultBadChecksum               // the checksum is wrong
	resultCount
)

// String is the metric label of the result.
func (r Result) String() string {
	switch r {
	case ResultUsed:
		return "used"
	case ResultUnused:
		return "unused"
	case ResultUnreadable:
		return "unreadable"
	default:
		return "bad_checksum"
	}
}

const (
	// maxFormatters bounds the formatters that are counted by name, so that
	// noise cannot fill the memory.
	maxFormatters = 64
	// maxFormatterLength is longer than any proprietary address seen.
	maxFormatterLength = 20
	// OtherFormatter stands for what has no plain name of its own, and for
	// every new formatter once 64 have been seen.
	OtherFormatter = "other"
)

// Tally counts what came in. The zero value is ready.
type Tally struct {
	Lines       uint64 // given, blank ones too
	Sentences   uint64 // with a good checksum
	BadChecksum uint64 // candidates that end in "*HH" with the wrong XOR
	// Unparsed counts the lines that are not blank and hold no sentence, good or
	// bad, and the sentences of a used type with a good checksum whose content
	// cannot be read.
	Unparsed uint64

	byName map[string]int // index into names and counts; never iterated
	names  []string
	counts [][resultCount]uint64
	other  [resultCount]uint64
	used   [kindCount][resultCount]uint64
}

// Count is one counter of a Tally. Formatter is the sentence's address without
// the talker ("GGA"), the whole address of a proprietary sentence ("PSTI"), or
// [OtherFormatter].
type Count struct {
	Formatter string
	Result    Result
	N         uint64
}

// Counts gives every counter that is not zero, ordered by formatter, then by
// result.
func (t *Tally) Counts() []Count {
	var all []Count
	add := func(name string, counts *[resultCount]uint64) {
		for r, n := range counts {
			if n > 0 {
				all = append(all, Count{Formatter: name, Result: Result(r), N: n})
			}
		}
	}
	for k := range kindCount {
		add(k.String(), &t.used[k])
	}
	for i, name := range t.names {
		add(name, &t.counts[i])
	}
	add(OtherFormatter, &t.other)
	slices.SortFunc(all, func(a, b Count) int {
		return cmp.Or(cmp.Compare(a.Formatter, b.Formatter), cmp.Compare(a.Result, b.Result))
	})
	return all
}

// sentence counts a sentence by the body of its text.
func (t *Tally) sentence(body []byte, k kind, r Result) {
	switch r {
	case ResultBadChecksum:
		t.BadChecksum++
	case ResultUnreadable:
		t.Unparsed++
		t.Sentences++
	default:
		t.Sentences++
	}
	if k < kindCount {
		t.used[k][r]++
		return
	}
	// A wrong checksum may mean a damaged address: it makes no new name.
	t.slot(formatter(body), r != ResultBadChecksum)[r]++
}

func (t *Tally) slot(name []byte, mayAdd bool) *[resultCount]uint64 {
	if i, ok := t.byName[string(name)]; ok {
		return &t.counts[i]
	}
	if !mayAdd || len(t.names) == maxFormatters || !plainName(name) || string(name) == OtherFormatter {
		return &t.other
	}
	if t.byName == nil {
		t.byName = make(map[string]int, maxFormatters)
	}
	t.byName[string(name)] = len(t.names)
	t.names = append(t.names, string(name))
	t.counts = append(t.counts, [resultCount]uint64{})
	return &t.counts[len(t.counts)-1]
}

// formatter is the address up to the first comma, without the talker unless it
// is proprietary.
func formatter(body []byte) []byte {
	address := body[:indexOrEnd(body, ',')]
	if len(address) >= 2 && address[0] != 'P' {
		return address[2:]
	}
	return address
}

func plainName(name []byte) bool {
	if len(name) == 0 || len(name) > maxFormatterLength {
		return false
	}
	for _, c := range name {
		if !capitalOrDigit(c) {
			return false
		}
	}
	return true
}
