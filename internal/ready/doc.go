// Package ready tells what is missing or doubtful before and during work: one list,
// each item with one step that settles it.
//
//	live.State ─────────┐
//	catalog.Around ─────┼──> Check ──> []Item
//	what was laid here ─┘
//
// It informs and never holds anything up: work is recorded whatever the list says,
// and every item may be left as it is. Check is a pure function of its input.
//
// Limits and intervals are what a person copied from a label into the catalogue.
// The package has no label data and approves nothing; what it finds over a limit it
// says, with the words of Caution.
package ready

// Caution is said wherever a limit or an interval is the matter.
const Caution = "The product label, the local rules and a licensed person decide, not this screen: drawbar holds no label database and knows only what was entered."
