// Package alarm decides from published states when a person must be told that
// something is wrong, and when it is over.
//
// Every rule has two conditions: one that must hold for a time before the alarm
// is raised and one, further away, that must hold for a time before it is
// cleared. In between nothing changes.
//
//	bad     ........|=====raise after=====>
//	                                       raised ......... cleared
//	good                                          |==clear after==>
//
// The package has no clock. A Watch is told the time with each view and counts
// from one view to the next; a step of the clock counts as no time at all, so
// that setting it neither raises nor clears anything but its own alarm. Whether
// fixes and reports still come in is seen from their counts and not from stamps.
//
// A text is one sentence that says what to do. What rate is right is for the
// label of the product to say, never for an alarm.
package alarm
