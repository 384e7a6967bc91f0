// Package source reads the ports: one supervised [Source] for each, which opens
// its port, cuts what arrives into lines, stamps each line once, at its end, and
// hands it on as the event that a replay would have read from a file.
//
//	src, err := source.New(source.Config{
//		Name: "gnss", Stream: replay.StreamGNSS, Address: "/dev/ttyUSB0", Baud: 0,
//	})
//	lines := make(chan replay.Event, source.QueueSize)
//	go src.Run(ctx, lines) // returns when ctx ends, whatever the port does
//
//	   waiting ──open──> up ──loss, unplugging, end of stream──> waiting
//	      │ 0.2 to 5 s, at once when the device comes back          │
//	      └──────────────── until ctx ends ─────────────────────────┘
//
// What holds:
//
//   - Run is one goroutine. It starts no other, and only it opens, reads and
//     closes the port: a port closed by another goroutine may give its number to
//     a newly opened one while a read is under way. A read gives way after 50 ms
//     without a byte, so Run ends within 100 ms of its context.
//   - A source never writes to its port and never touches another source.
//   - A full queue blocks the source, which counts it; the bytes wait in the
//     system's buffer. Nothing that was read as a whole line is thrown away.
//   - A line that the loss of a port cut off is dropped and counted, not handed
//     on: a rate of 112.5 cut to 112 reads like a good one. For the same reason
//     the first piece read from a controller's serial port is dropped unless the
//     port was quiet before it.
//   - Without a baud rate the usual ones are tried; while none is found, only
//     lines that are plainly good are handed on, the rest is counted.
//
// The package knows nothing of what lines mean beyond good or bad, keeps no line,
// and writes nothing to disk.
package source
