// Package store keeps recorded sessions in a folder. Of one session there are
//
//	000017-20260514T130510Z.mcap               the recording, or its first part
//	000017-20260514T130510Z.2.mcap             its second part, and so on
//	000017-20260514T130510Z.corrections.jsonl  what was said about it later
//
// Names begin with a number that counts up, so that their order is the order of
// recording whatever the clock of the board said; the time is that clock's, in UTC.
// A session has more than one part where recording had to stop, because the disk
// was full or failed, and could go on: the parts' lines are numbered through, so the
// gap between two parts says how many lines were not recorded. Reading the parts in
// order is reading the session.
//
// A file is recorded as it comes and packed when it is closed. Packing and mending
// write a new file beside the old one, read it back and compare, bring it to the
// disk, and only then give it the old one's name. Where more was damaged than the
// end that was cut off, the old file stays as NAME.mcap.damaged. A session is never
// deleted.
//
// A file that is being recorded is locked; the lock ends with its process.
package store
