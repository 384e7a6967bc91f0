// Package recorded opens recorded input for a replay: sessions with all their parts,
// capture text and plain NMEA logs, with the configuration that a session was
// recorded with and the corrections beside it.
//
//	in, err := recorded.Open([]string{"data/000017-20260514T130510Z.mcap"}, recorded.Options{})
//	defer in.Close()
//	file, setup, err := in.Setup(nil)
//	session, err := replay.NewSession(setup)
//	err = in.Play(replay.Player{}, func(e replay.Event) error { session.Feed(e); return nil })
//	session.Finish()
//
// A damaged place is passed over; Damage and Warnings tell of it. The recording is
// only ever read.
package recorded
