package complete

import (
	"fmt"
	"time"

	"drawbar/internal/units"
)

// kind is how an element is read off an operation, and where it is entered.
type kind struct {
	value func(op Operation, i int) string // "" = not known; i is -1 for an element of the operation
	enter string
	where Where
}

func kinds() map[ID]kind {
	return map[ID]kind{
		UseKind: {func(op Operation, _ int) string { return op.Use.String() },
			"say whether ground, a closed space, or seed was treated", InOperation},
		ProductName: {func(op Operation, i int) string { return op.Products[i].Name },
			"enter the product's full name as on its label, and correct the tank's product", InProduct},
		Registration: {func(op Operation, i int) string { return op.Products[i].Registration },
			"enter the registration or authorisation number from the label", InProduct},
		Date:      {day, "nothing says when the work was done: enter it by a correction", InOperation},
		StartTime: {clock, "enter the time at which the treatment began", InOperation},
		Dose: {func(op Operation, i int) string { return op.rate(op.Products[i]) },
			"enter the rate: by a correction with a rate basis, or with the weighed amount", InOperation},
		Amount: {func(op Operation, i int) string { return op.amount(op.Products[i]) },
			"enter the amount used: by a correction with the weighed amount or a rate basis", InOperation},
		Place:    {place, "give the field a name, and its boundary or its number in the official register of land", InField},
		Area:     {func(op Operation, _ int) string { return op.area() }, "enter the implement's width by a correction, so that the area can be counted", InOperation},
		Crop:     {func(op Operation, _ int) string { return op.Crop }, "enter the crop, or how the land is used, in the field's season or by a correction", InSeason},
		CropCode: {func(op Operation, _ int) string { return op.CropCode }, "enter the crop's EPPO code in the field's season", InSeason},
		GrowthStage: {func(op Operation, _ int) string {
			if op.GrowthStage == nil {
				return ""
			}
			return fmt.Sprintf("BBCH %02d", *op.GrowthStage)
		}, "see the label: enter the growth stage (BBCH) by a correction if the label limits it", InOperation},
		Lot:        {func(op Operation, i int) string { return op.Products[i].Lot }, "enter the batch number of the seed or plants that were treated", InProduct},
		Applicator: {func(op Operation, _ int) string { return op.Person }, "say who worked, by a correction", InOperation},
		Licence: {func(op Operation, _ int) string { return op.Licence },
			"enter the number of the applicator's certificate or licence with the person", InPerson},
		Supervisor: {func(op Operation, _ int) string { return op.Supervisor },
			"note who supervised, with the number of the certificate", Elsewhere},
		Customer: {func(op Operation, _ int) string { return op.Customer },
			"note the name and address of the person for whom the work was done", Elsewhere},
	}
}

func (op Operation) rate(p Product) string {
	_, rate, ok := units.AmountOf(p.Unit)
	if !ok || p.Rate == nil {
		return ""
	}
	return op.Units.Show(rate, *p.Rate)
}

func (op Operation) amount(p Product) string {
	amount, _, ok := units.AmountOf(p.Unit)
	if !ok || p.Amount == nil {
		return ""
	}
	return op.Units.Show(amount, *p.Amount)
}

func (op Operation) area() string {
	if op.AreaM2 == nil {
		return ""
	}
	return op.Units.Show(units.Area, *op.AreaM2)
}

// place identifies the ground: a name alone does not, without an outline or a
// number on a map.
func place(op Operation, _ int) string {
	switch {
	case op.Parcel != "" && op.Field != "":
		return op.Field + ", " + op.Parcel
	case op.Parcel != "":
		return op.Parcel
	case op.Field != "" && op.HasBoundary:
		return op.Field + ", boundary on record"
	default:
		return ""
	}
}

// day is the day of the work, or the first and the last.
func day(op Operation, _ int) string {
	first, last := op.Start, op.End
	if first.IsZero() {
		first = last
	}
	if first.IsZero() {
		return ""
	}
	from := first.In(op.zone()).Format(time.DateOnly)
	if last.IsZero() {
		return from
	}
	if to := last.In(op.zone()).Format(time.DateOnly); to != from {
		return from + " to " + to
	}
	return from
}

func clock(op Operation, _ int) string {
	if op.Start.IsZero() {
		return ""
	}
	return op.Start.In(op.zone()).Format("15:04")
}
