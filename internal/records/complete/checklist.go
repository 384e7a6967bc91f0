package complete

import "time"

// ID names an element; the same element has the same ID in every text.
type ID string

// The elements.
const (
	UseKind      ID = "use_kind"
	ProductName  ID = "product_name"
	Registration ID = "registration"
	Date         ID = "date"
	StartTime    ID = "start_time"
	Dose         ID = "dose"
	Amount       ID = "total_amount"
	Place        ID = "place"
	Area         ID = "area"
	Crop         ID = "crop"
	CropCode     ID = "crop_code"
	GrowthStage  ID = "growth_stage"
	Lot          ID = "lot"
	Applicator   ID = "applicator"
	Licence      ID = "licence"
	Supervisor   ID = "supervisor"
	Customer     ID = "customer"
)

// State tells whether an element is there.
type State uint8

// The states. Depends is for what is not there and is asked for in some cases only,
// where nobody has said whether this is such a case: the label or a person knows.
const (
	Missing State = iota
	Present
	NotApplicable
	Depends
)

func (s State) String() string {
	return [...]string{"missing", "present", "not_applicable", "depends"}[min(s, Depends)]
}

// Where is where an element is entered.
type Where string

// The places; in the catalogue, but for the operation itself, which is changed by a
// correction.
const (
	InProduct   Where = "product"
	InField     Where = "field"
	InSeason    Where = "season"
	InPerson    Where = "person"
	InOperation Where = "operation"
	Elsewhere   Where = "elsewhere" // drawbar has no place for it: on paper, or in a note of the operation
)

// Element is one thing that the text asks for.
type Element struct {
	ID      ID
	Product int    // index in Operation.Products; -1 = of the operation
	Words   string // what it is
	Source  Source
	When    string // required when; "always" for most
	State   State
	Value   string // what is known, as it would be written; "" = nothing
	Doubt   string // why Value is less than the whole; "" = nothing said
	Enter   string // what to enter; "" where it is present or not applicable
	Where   Where  // and where
}

// Source is where an element is asked for.
type Source struct {
	Act     string
	Section string
	Quote   string // wording of the text; "" = only its sense is known
	Read    string // how it was read, and what to look up again
}

// Checklist is one text laid beside one operation.
type Checklist struct {
	Rules     Rules
	Title     string
	Concerned Answer // the operation is of the kind that the text is about; not whether it binds you
	Why       string // of that answer
	Notes     []string
	RecordBy  time.Time // midnight after the last day on which it has to be written; zero = no day stated or not known
	KeepUntil time.Time // the last day on which it has to be kept; zero = not known
	Elements  []Element // none where Concerned is No
}

// Count gives how many elements are in a state.
func (c Checklist) Count(s State) (n int) {
	for _, e := range c.Elements {
		if e.State == s {
			n++
		}
	}
	return n
}
