package records

import (
	"runtime"

	"golang.org/x/sys/unix"
)

// niceness is how far the worker's thread stands behind others, of 19.
const niceness = 10

// giveWay has the goroutine keep to a thread that gives way to all others of the
// board. The thread ends with the goroutine.
func giveWay() {
	runtime.LockOSThread()
	// Of Linux, 0 is the calling thread. Where it is not allowed the rests must do.
	_ = unix.Setpriority(unix.PRIO_PROCESS, 0, niceness)
}
