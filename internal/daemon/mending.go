package daemon

import (
	"drawbar/internal/mend"
	"drawbar/internal/records"
)

// newMender corrects the sessions of a folder: those that are looked at are shown as
// corrected, and what they add up to is worked out anew. known may be nil.
func newMender(dir string, looked *pasts, known *records.Index) *mend.Mender {
	c := mend.Config{Dir: dir, Changed: looked.Forget}
	if known != nil {
		c.CheckJoin, c.Joined = known.CheckJoin, known.Refresh
		c.Changed = func(session string) {
			looked.Forget(session)
			known.Recompute(session)
		}
	}
	return mend.New(c)
}
