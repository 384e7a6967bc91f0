// Package mend corrects recorded sessions: it appends what is said later, takes it
// back, works out beforehand what a correction changes, and joins operations.
//
//	m := mend.New(mend.Config{Dir: "data", Changed: index.Recompute})
//	go m.Run(ctx)                                        // works out the trials
//	id, err := m.Try("000017-20260514T130510Z", line)    // before and after, by and by
//	t, ok := m.Trial(id)
//	n, err := m.Correct("000017-20260514T130510Z", line) // on the disk
//	n, err = m.Correct("000017-20260514T130510Z", undo)  // {"undo":3,"why":"…"}
//
// A recording is only ever read. What is said later is appended to one file beside it,
// synced before the call returns; the figures follow from both.
package mend
