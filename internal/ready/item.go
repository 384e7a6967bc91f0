package ready

import (
	"cmp"
	"slices"

	"drawbar/internal/live"
)

// Kind is what an item is about.
type Kind string

// The kinds, in the order in which they are listed.
const (
	NoField            Kind = "no_field"
	NoImplement        Kind = "no_implement"
	FixQuality         Kind = "fix_quality"
	TargetOverLimit    Kind = "target_over_limit"
	IntervalRuns       Kind = "interval_runs"
	TankWithoutProduct Kind = "tank_without_product"
	TankUnit           Kind = "tank_unit"
	SectionCount       Kind = "section_count"
	ImplementWidth     Kind = "implement_width"
	TargetOffPlan      Kind = "target_off_plan"
	NoBoundary         Kind = "no_boundary"
	NoPerson           Kind = "no_person"
)

// Kinds are all of them, in order.
func Kinds() []Kind {
	return []Kind{
		NoField, NoImplement, FixQuality, TargetOverLimit, IntervalRuns, TankWithoutProduct,
		TankUnit, SectionCount, ImplementWidth, TargetOffPlan, NoBoundary, NoPerson,
	}
}

// Item is one thing that is missing or doubtful.
type Item struct {
	Kind     Kind
	Severity live.Severity // Note or Warning
	Subject  string        // as "tank 1", or a product; empty where there is only one
	Text     string        // what is the matter, a sentence or two
	Step     Step
}

// Do is what a step does.
type Do string

// What steps do. Those before See are said by one request; the others open what
// a person looks at or enters.
const (
	Begin       Do = "begin"        // state Field with its boundary
	PutProduct  Do = "put_product"  // Product with Target into Tank
	SetTarget   Do = "set_target"   // Target for Tank
	SayPerson   Do = "say_person"   // Person works
	See         Do = "see"          // nothing to enter here: read the text, and look
	ChooseField Do = "choose_field" // and so on: a person chooses
	Draw        Do = "draw_boundary"
	ChooseTool  Do = "choose_implement"
	ChooseName  Do = "choose_person"
	OpenTank    Do = "open_tank" // Tank
	OpenInputs  Do = "open_arrivals"
)

// Dos are all of them.
func Dos() []Do {
	return []Do{Begin, PutProduct, SetTarget, SayPerson, See, ChooseField, Draw, ChooseTool, ChooseName, OpenTank, OpenInputs}
}

// Step is the one step that settles an item.
type Step struct {
	Do      Do
	Text    string // on the button, as "Start in Mill Piece"
	Field   string // these as Do says; else empty
	Product string
	Target  string // with its unit, as "112 kg/ha"
	Person  string
	Tank    int
}

// sorted puts the graver first, then the kinds in their order.
func sorted(items []Item) []Item {
	order := Kinds()
	slices.SortStableFunc(items, func(a, b Item) int {
		return cmp.Or(-cmp.Compare(a.Severity, b.Severity), cmp.Compare(slices.Index(order, a.Kind), slices.Index(order, b.Kind)))
	})
	return items
}
