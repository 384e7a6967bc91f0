// Package daemon is the live run: ports in, a recording on disk, and one session
// that a replay of that recording gives again to the byte.
//
//	source ─┐                                ┌─ recording (append, then flush)
//	source ─┼─ one channel ─ core goroutine ─┼─ replay.Session.Feed
//	 Say   ─┘                                └─ live.Hub: state, alarms, notices
//
// The core goroutine alone touches the session. An event is recorded before it is
// processed, in the order in which it is processed; what an operator says is on
// the disk before it is acknowledged. Syncing runs beside it and never holds it up.
//
// Starting order is recording, core, server, sources; stopping is the reverse, so
// that the last bytes are recorded and the last sync is done.
package daemon
