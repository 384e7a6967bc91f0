// Package marks keeps what the operator marked in one session for all that follow.
//
// A session tells the Keeper which marks of it stand and which ones, of whatever
// session, it said to be done; the Keeper brings that to the catalogue on a goroutine
// of its own, so that no line waits for the disk. What a power cut left between the
// recording and the catalogue is mended at the next start: every session of the data
// folder that was not looked at yet is replayed once, and only where it says
// anything of marks.
//
//	session.Marks ──> Keeper.Stand ──┐
//	{"mark":{"of":…}} ──> Keeper.Settle ──> catalogue ──> changed: map, page
//	recorded sessions ──> Keeper.Reconcile ──┘
//
// Inverse is how far and in which direction a mark lies.
package marks
