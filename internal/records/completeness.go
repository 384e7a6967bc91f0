package records

import (
	"fmt"
	"strings"

	"drawbar/internal/catalog"
	"drawbar/internal/records/complete"
	"drawbar/internal/units"
)

// Complete lays the texts that ask for records of applications beside an operation.
// Times are written in the index's zone, amounts and areas in a system of units.
func (x *Index) Complete(o *Operation, system units.System) []complete.Checklist {
	return complete.All(x.view.Load().book.known(o, system))
}

// known is what is known of an operation in the form of package complete. What nobody
// said stays unsaid.
func (b *book) known(o *Operation, system units.System) complete.Operation {
	out := complete.Operation{
		Use: complete.UseGround, Start: o.OperationRecord.Start, End: o.OperationRecord.End, Zone: b.zone, Units: system,
		Field: o.Field, HasBoundary: o.Area.FieldM2 != nil, AreaM2: &o.Area.CoveredM2, Crop: o.Grown,
	}
	if f := b.fields[fold(o.Field)]; f != nil && len(f.Outline) > 0 {
		out.HasBoundary = true
	}
	if s := b.season[o.SeasonID]; s != nil && fold(s.Crop) == fold(o.Grown) {
		out.CropCode = s.CropCode
	}
	if o.HasGrowthStage {
		stage := o.GrowthStage
		out.GrowthStage = &stage
	}
	b.whoWorked(o, &out)
	for i := range o.Sums {
		p := &o.Sums[i]
		out.Products = append(out.Products, b.applied(o, p))
		if p.Applied != nil && p.RatedM2 < p.AreaM2 {
			text := fmt.Sprintf("the rate was not known on %s of %s", system.Show(units.Area, p.AreaM2-p.RatedM2), system.Show(units.Area, p.AreaM2))
			for _, id := range []complete.ID{complete.Amount, complete.Dose} {
				out.Doubts = append(out.Doubts, complete.Doubt{Element: id, Product: i, Text: text})
			}
		}
	}
	return out
}

// whoWorked names the people with their licences.
func (b *book) whoWorked(o *Operation, out *complete.Operation) {
	var names, licences []string
	all := len(o.People) > 0
	for _, p := range o.People {
		if p.Name == "" {
			all = false
			continue
		}
		names = append(names, p.Name)
		if person := b.people[fold(p.Name)]; person != nil && person.Licence != "" {
			licences = append(licences, person.Licence)
		} else {
			all = false
		}
	}
	out.Person, out.Licence = strings.Join(names, ", "), strings.Join(licences, ", ")
	if all {
		out.Certified = complete.Yes
	}
	if len(names) > 0 && len(names) < len(o.People) {
		out.Doubts = append(out.Doubts, complete.Doubt{Element: complete.Applicator, Product: -1, Text: "for a part of the work nobody was named"})
	}
}

// applied is one product with what the catalogue knows of it.
func (b *book) applied(o *Operation, p *Sum) complete.Product {
	out := complete.Product{Name: p.Name, Amount: p.Applied, Rate: p.MeanRate(), Unit: p.Unit}
	of := b.products[fold(p.Name)]
	if of == nil || fold(p.Name) == "" {
		return out
	}
	out.Registration, out.Lot = of.Registration, of.Lot
	out.Protects = b.protects(of.Product)
	for _, r := range o.Refills {
		if fold(r.Product) == fold(p.Name) && r.Lot != "" && !strings.Contains(out.Lot, r.Lot) {
			out.Lot = strings.TrimPrefix(out.Lot+", "+r.Lot, ", ")
		}
	}
	return out
}

// protects tells whether a product, or a part of a blend, protects plants.
func (b *book) protects(p *catalog.Product) complete.Answer {
	if p.Kind == catalog.CropProtection || p.Kind == catalog.SeedTreatment {
		return complete.Yes
	}
	answer := complete.No
	for _, part := range p.Parts { // a catalogue's blends have no circles
		of := b.product[part.Product]
		if of == nil {
			answer = complete.Unsaid
			continue
		}
		switch b.protects(of.Product) {
		case complete.Yes:
			return complete.Yes
		case complete.Unsaid:
			answer = complete.Unsaid
		}
	}
	return answer
}
