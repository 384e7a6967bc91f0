// Package records is what the recorded sessions add up to: every operation with its
// figures, joined operations counted once, totals, and the season's progress against
// its plan.
//
//	x, err := records.Open(records.Config{Dir: "data", Catalog: c})
//	go x.Run(ctx)                                  // works out what is missing; the caller waits for it
//	page := x.Operations(records.Filter{Field: &name}, 0, 50)
//	t, err := x.Totals(records.ByProduct, records.Filter{Season: "2026"})
//
//	recordings ── replay, one goroutine, low load ──> figures ──┐
//	corrections beside them ─────────┘                          ├──> view, in memory ──> answers
//	joins.jsonl ── coverage.Join ──> joined figures ────────────┤
//	catalogue: fields, seasons, products, plans ────────────────┘
//
// Everything here follows from the recordings, what was said of them later and the
// catalogue. It is kept in work.db (SQLite) so that it need not be worked out again
// at each start; the file may be deleted at any time and is then made anew.
//
// Sums are exact: areas are whole 1/1000 m2, amounts whole millionths of their unit,
// and what is split among people or products is split without remainder, so that the
// groups of any totals add up to the whole. What is not known is counted as unknown
// and never as zero.
package records
