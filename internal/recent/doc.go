// Package recent remembers what was put on which field lately, and who worked: what
// a person is offered first. It is read off the published states of a run, so it is
// what was laid and not only what was said, and it outlives the run in a small file.
//
//	b, err := recent.Open(dir)      // recent.json in the data folder
//	b.Observe(state)                // with each state, or each second
//	err = b.Save()                  // where Observe says so
//	b.Here("Mill Piece")            // the latest first
//
// It is a help, no record: the record is the session. A file that cannot be read is
// put aside under another name, and the memory begins anew.
package recent
