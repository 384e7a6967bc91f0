// Package nmea turns the bytes of a GNSS receiver into fixes.
//
//	bytes -> Splitter -> line -> sentences in it -> epoch -> Fix
//
// A [Splitter] cuts the byte stream into lines. A [Reader] looks at every
// candidate in a line, from a '$' or '!' to the next one:
//
//	noise $GPGGA,130510.20,...*5C noise $GPRMC,...*1F
//	      |candidate              |     |candidate  |
//
// A candidate that holds "*HH" with the right XOR is a sentence, whatever
// stands before or after it. GGA, GNS, RMC, GLL, VTG, ZDA, GST, HDT and THS of
// any talker are used; all others are counted in the [Tally] and passed over.
//
// Position sentences (GGA, GNS, RMC, GLL) of one time of day form an epoch, and
// the others belong to the epoch they arrive in. An epoch with at least one
// valid position becomes one [Fix]. The Reader learns which sentence usually
// ends an epoch and hands the fix out when it arrives.
//
// What a receiver did not send stays unknown: no number is made up for an empty
// field, and a position sent with quality 0, status V, mode N or an impossible
// value is no fix.
//
// The package knows nothing of ports, files, wall clocks or sessions; the
// arrival of a line is handed in with it. The same lines with the same arrivals
// give the same fixes on every machine.
package nmea
