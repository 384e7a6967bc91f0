package server

import (
	"encoding/json"

	"drawbar/internal/records"
	"drawbar/replay"
)

func wireWork(o *records.Operation) workJSON {
	capacity, efficiency := o.Capacity()
	out := workJSON{
		Session: o.Session, Operation: o.Number, Parts: []workPartJSON{}, Join: only(o.Join, o.Join > 0),
		Field: o.Field, FieldID: some(string(o.FieldID)), Kind: o.OperationFigures.Operation, Crop: o.Grown, CropStated: o.Crop != "",
		Season: some(string(o.SeasonID)), Year: only(o.Year, o.Year != 0), Start: stamp(o.OperationRecord.Start), End: stamp(o.OperationRecord.End),
		Area: workAreaJSON{
			FieldM2: o.Area.FieldM2, GrossM2: o.Area.GrossM2, CoveredM2: o.Area.CoveredM2, OverlapM2: o.Area.OverlapM2,
			SkipM2: o.Area.SkipM2, RemainingM2: o.Area.RemainingM2, OutsideM2: o.Area.OutsideM2,
		},
		OverlapBy: overlapByJSON{HeadlandM2: o.OverlapBy.HeadlandM2, BetweenPassesM2: o.OverlapBy.BetweenPassesM2, SectionsM2: o.OverlapBy.SectionsM2},
		WorkingS:  o.WorkingS, FieldTimeS: o.FieldS, DistanceM: o.DistanceM,
		Implement: o.Implement.Name, WidthM: only(o.Implement.WidthM(), len(o.Implement.SectionsM) > 0),
		Products: []workProductJSON{}, People: []string{}, Bounds: only(o.Bounds, o.HasBounds), CapacityPer: capacity, Efficiency: efficiency,
	}
	for i := range o.Parts {
		p := &o.Parts[i]
		out.Parts = append(out.Parts, workPartJSON{Session: p.Session, Operation: p.Number, Start: stamp(p.OperationRecord.Start), End: stamp(p.OperationRecord.End)})
	}
	for i := range o.Sums {
		p := &o.Sums[i]
		out.Products = append(out.Products, workProductJSON{
			Name: p.Name, Unit: p.Unit, Tanks: listed(p.Tanks), AreaM2: p.AreaM2, RatedM2: p.RatedM2, Applied: p.Applied, MeanPerM2: p.MeanRate(), TargetPerM2: p.Target,
		})
	}
	for _, p := range o.People {
		out.People = append(out.People, p.Name)
	}
	return out
}

// wireDetail is an operation with all that its record says.
func (s *Server) wireDetail(o *records.Operation) workDetailJSON {
	g := s.c.Records.Sum(o)
	out := workDetailJSON{
		Work: wireWork(o), GrowthStage: only(o.GrowthStage, o.HasGrowthStage), Tanks: []workTankJSON{}, People: []workPersonJSON{},
		Refills: []workRefillJSON{}, Weather: []workWeatherJSON{}, Notes: []workNoteJSON{}, Weighed: []workWeighedJSON{},
		Costs: wireMoney(g.Costs), Unknown: wireUnknown(&g.Unknown),
	}
	out.Nutrients = only(wireNutrients(&g.Nutrients, g.CoveredM2), g.Unknown.Nutrients == 0 && g.Unknown.Amounts == 0)
	if whole, ok := s.c.Records.Operation(o.Ref()); ok && whole.Join != 0 && o.Join == 0 {
		ref := wireRef(whole.Ref())
		out.JoinedInto = &ref
	}
	for _, p := range o.Products {
		out.Tanks = append(out.Tanks, workTankJSON{
			Tank: p.Tank, Name: p.Name, Unit: p.Unit, AreaM2: p.AreaM2, Applied: p.Applied, MeanPerM2: p.MeanRate, TargetPerM2: p.MeanTarget,
		})
	}
	for _, p := range o.People {
		out.People = append(out.People, wirePerson(o, &p))
	}
	for _, r := range o.Refills {
		out.Refills = append(out.Refills, workRefillJSON{
			Time: stamp(r.Time), Tank: r.Tank, Product: r.Product, Unit: r.Unit, Amount: r.Amount, Level: r.Level, Lot: r.Lot, Person: r.Person,
		})
	}
	for _, w := range o.Weather {
		out.Weather = append(out.Weather, workWeatherJSON{
			Time: stamp(w.Time), WindMPS: w.WindMPS, WindFromDeg: w.WindFromDeg, TemperatureC: w.TemperatureC, HumidityPct: w.HumidityPct,
		})
	}
	for _, n := range o.Notes {
		out.Notes = append(out.Notes, workNoteJSON{Time: stamp(n.Time), Text: n.Text})
	}
	for _, w := range o.Weighed {
		out.Weighed = append(out.Weighed, workWeighedJSON{
			Tank: w.Tank, From: stamp(w.From), To: stamp(w.To), Unit: w.Unit, Weighed: w.Weighed, Metered: w.Metered, Applied: w.Applied, Ticket: w.Ticket,
		})
	}
	return out
}

func wirePerson(o *records.Operation, p *replay.PersonFigures) workPersonJSON {
	out := workPersonJSON{Name: p.Name, GrossM2: p.GrossM2, WorkingS: p.WorkingS, DistanceM: p.DistanceM, Products: []workShareJSON{}}
	for _, share := range p.Products {
		if share.Product < 0 || share.Product >= len(o.Products) {
			continue
		}
		of := o.Products[share.Product]
		out.Products = append(out.Products, workShareJSON{Name: of.Name, Unit: of.Unit, AreaM2: share.AreaM2, Applied: share.Applied})
	}
	return out
}

func wireCorrected(c *records.Corrected) correctedJSON {
	from, to := c.Moments()
	out := correctedJSON{
		Number: c.Number, From: stamp(from), To: stamp(to), By: c.By, Undoes: only(c.Undo, c.Undo > 0),
		TakenBackBy: only(c.TakenBack, c.TakenBack > 0), Acts: c.Acts, Statement: anyJSON{},
	}
	if c.Why != nil {
		out.Why = *c.Why
	}
	if c.Made != nil {
		out.Made = stamp(*c.Made)
	}
	if c.Acts || c.TakenBack > 0 {
		line, err := json.Marshal(c.Later)
		if err == nil {
			err = json.Unmarshal(line, &out.Statement)
		}
		if err != nil {
			out.Statement = anyJSON{}
		}
	}
	return out
}
