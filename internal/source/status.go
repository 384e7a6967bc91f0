package source

import "time"

// Status is what a source can say of itself at a moment. Times are of the
// machine's clock with Go's monotonic part, so that differences from time.Now
// hold when the clock is stepped. Counters never run back.
type Status struct {
	Name       string
	Address    string
	Up         bool      // the port is open
	Since      time.Time // since when Up is what it is
	Reconnects uint64    // times it was opened again after a loss
	Bytes      uint64    // read, good or bad
	Lines      uint64    // handed on
	Valid      uint64    // of Lines and Dropped, those that are good sentences or reports
	Dropped    uint64    // pieces not handed on: cut off by a loss, or read at a rate that was then given up
	Blocked    uint64    // times that the queue was full
	BlockedFor time.Duration
	Baud       int  // of a serial port, in use or in trial
	Searching  bool // the baud rate is not found yet
	Rounds     int  // of the search that found nothing since the port was opened
	LastError  string
	LastByteAt time.Time // zero: none yet
	LastValid  time.Time // when the last good line came; zero: none yet
}

// Status is the state now. It may be called from any goroutine.
func (s *Source) Status() Status {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.status
}

// note changes the status under its lock.
func (s *Source) note(change func(*Status)) {
	s.mu.Lock()
	defer s.mu.Unlock()
	change(&s.status)
}
