package complete

import (
	"time"

	"drawbar/internal/units"
)

// Answer is yes, no, or nothing said.
type Answer uint8

// The answers; the zero value is nothing said.
const (
	Unsaid Answer = iota
	Yes
	No
)

func (a Answer) String() string { return [...]string{"unsaid", "yes", "no"}[min(a, No)] }

// Use is the kind of use, as the Annex of 2023/564 tells them apart.
type Use uint8

// The kinds of use. A machine in a field treats ground; its caller says so.
const (
	UseUnsaid     Use = iota
	UseGround         // treatment of surface areas
	UseClosed         // treatment of or in closed spaces
	UseOnMaterial     // treatment of seeds or plant reproductive material
)

func (u Use) String() string {
	return [...]string{"", "treatment of a surface area", "treatment of or in a closed space", "treatment of seeds or plant reproductive material"}[min(u, UseOnMaterial)]
}

// Operation is what is known of one operation. The zero value of a member means
// that it is not known; nothing is worked out from the others.
type Operation struct {
	Use        Use
	Start, End time.Time
	Zone       *time.Location // in which times are written; nil = UTC
	Units      units.System   // in which amounts and areas are written

	Field       string   // its name
	Parcel      string   // its number in an official register of land
	HasBoundary bool     // the field has an outline in degrees
	AreaM2      *float64 // ground treated, every place once

	Crop        string
	CropCode    string // EPPO code
	GrowthStage *int   // BBCH, 0..99

	Person     string // who applied
	Licence    string // licence or certificate of that person
	Certified  Answer // whether that person holds one
	Supervisor string // the certified applicator who supervised, with the number, where another did

	ForOthers Answer // the work was done for another person
	Customer  string // name and address of that person

	Products []Product
	Doubts   []Doubt
}

// Product is one of the products that were applied.
type Product struct {
	Name         string
	Registration string // registration or authorisation number
	Protects     Answer // it is a plant protection product (a pesticide)
	Restricted   Answer // it is one of restricted use, in the United States
	Amount       *float64
	Rate         *float64 // of Unit/m2
	Unit         string   // kg, l or seeds
	Lot          string   // of the material that was treated
	TimeLimited  Answer   // the label limits the times of day, or the time matters
	StageLimited Answer   // the label limits the growth stages
}

// Doubt says of one element why what is known of it is less than the whole, such as
// an amount that lacks the minutes in which the controller was silent. The element
// stays present and shows the text.
type Doubt struct {
	Element ID
	Product int // index in Products; any other number = all, or an element of the operation
	Text    string
}
