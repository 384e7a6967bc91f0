package server

import (
	"context"

	"drawbar/internal/records"
	"drawbar/internal/records/complete"
)

func (s *Server) workComplete(_ context.Context, in *workOperationInput) (out completeListJSON, err error) {
	o, err := s.operationOf(in)
	if err != nil {
		return out, err
	}
	out = completeListJSON{Caution: complete.Caution, Lists: []checklistJSON{}}
	for _, list := range s.c.Records.Complete(o, s.c.Units) {
		out.Lists = append(out.Lists, wireChecklist(o, &list))
	}
	return out, nil
}

func wireChecklist(o *records.Operation, list *complete.Checklist) checklistJSON {
	out := checklistJSON{
		Rules: list.Rules.String(), Title: list.Title, Concerned: list.Concerned.String(), Why: list.Why, Notes: listed(list.Notes),
		RecordBy: stamp(list.RecordBy), KeepUntil: stamp(list.KeepUntil), Elements: []elementJSON{},
	}
	for _, e := range list.Elements {
		element := elementJSON{
			ID: string(e.ID), Words: e.Words, State: e.State.String(), Value: e.Value, Doubt: e.Doubt, When: e.When, Enter: e.Enter, Where: string(e.Where),
			Act: e.Source.Act, Section: e.Source.Section, Quote: e.Source.Quote, Read: e.Source.Read,
		}
		if e.Product >= 0 {
			name := ""
			if e.Product < len(o.Sums) {
				name = o.Sums[e.Product].Name
			}
			element.Product = &name
		}
		out.Elements = append(out.Elements, element)
	}
	return out
}
