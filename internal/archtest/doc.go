// Package archtest holds the tests that keep the core what it claims to be: the
// packages nmea, controller, coverage and replay depend only on what stands
// below them, know no clock, goroutine or outside world, and give the same bytes
// on every processor. It has no code besides its tests.
//
// An exception is a row of the table in exceptions_test.go with its reason; a
// row that excuses nothing any more fails.
package archtest
