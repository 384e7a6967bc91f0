package complete

import "time"

// Rules are one of the texts that this package knows.
type Rules uint8

// The texts.
const (
	EUArticle67  Rules = iota // Regulation (EC) No 1107/2009, Article 67(1)
	EURecords                 // with the Annex of Implementing Regulation (EU) 2023/564
	USFederal                 // 7 CFR 110.3, until it was rescinded
	USCommercial              // 40 CFR 171.303(b)(7)(vi)
	ruleSets
)

// String is the text's name in addresses and files.
func (r Rules) String() string {
	return [...]string{"eu-1107-2009-67", "eu-2023-564", "us-7cfr110", "us-40cfr171", ""}[min(r, ruleSets)]
}

// The days from which, and up to which, a text is about a use.
var (
	// Reg. (EU) 2023/564, as recital 2 of (EU) 2025/2203 puts it: for uses from then on.
	recordsFrom = day0(2026, time.January, 1)
	// Federal Register of 12 May 2025, document 2025-08220: part 110 is rescinded with effect
	// from then on. Read in a summary of the rule that quotes it.
	part110Until = day0(2025, time.July, 11)
)

func day0(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, time.UTC) }

// text is a text as this package knows it.
type text struct {
	title      string
	notes      []string
	recordDays int // days after the last day of the work; 0 = none stated
	keepYears  int
	concerned  func(Operation) (Answer, string)
	of         func(Product) Answer // whether a product is of the kind that the text is about
	asks       []ask
}

// ask is one element that a text asks for.
type ask struct {
	id        ID
	words     string
	source    Source
	ofProduct bool
	when      string                      // where needed is set
	needed    func(Operation, int) Answer // nil = always
}

func texts() [ruleSets]text {
	return [ruleSets]text{EUArticle67: article67(), EURecords: records564(), USFederal: part110(), USCommercial: part171()}
}

func protects(p Product) Answer { return p.Protects }

// restricted asks first whether it is a plant protection product at all.
func restricted(p Product) Answer {
	if p.Protects == No {
		return No
	}
	return p.Restricted
}

// aboutProtection tells whether a plant protection product was used.
func aboutProtection(op Operation) (Answer, string) {
	switch ofSome(op, protects) {
	case Yes:
		return Yes, names(op, protects, Yes) + " is stated to be a plant protection product"
	case No:
		return No, "no product of this operation is a plant protection product"
	default:
		return Unsaid, "nothing says whether this is a plant protection product: " + names(op, protects, Unsaid)
	}
}

// aboutRestricted tells whether a product of restricted use was used.
func aboutRestricted(op Operation) (Answer, string) {
	switch ofSome(op, restricted) {
	case Yes:
		return Yes, names(op, restricted, Yes) + " is stated to be of restricted use"
	case No:
		return No, "no product of this operation is a pesticide of restricted use"
	default:
		return Unsaid, "see the label; nothing says whether this is of restricted use: " + names(op, restricted, Unsaid)
	}
}

// before tells whether the day of the work is before a day, by the calendar of the place.
func before(op Operation, limit time.Time) Answer {
	last := lastDay(op)
	if last.IsZero() {
		return Unsaid
	}
	y, m, d := last.Date()
	if day0(y, m, d).Before(limit) {
		return Yes
	}
	return No
}
