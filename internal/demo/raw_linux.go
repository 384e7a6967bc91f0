package demo

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// makeRaw makes a pseudo-terminal pass bytes as a serial line does, without echo
// and without changing line ends.
func makeRaw(port *os.File) error {
	c, err := port.SyscallConn()
	if err != nil {
		return err
	}
	var set error
	err = c.Control(func(fd uintptr) {
		var t *unix.Termios
		if t, set = unix.IoctlGetTermios(int(fd), unix.TCGETS); set != nil {
			return
		}
		t.Iflag, t.Oflag, t.Lflag = 0, 0, 0
		t.Cflag = unix.CS8 | unix.CREAD | unix.CLOCAL
		set = unix.IoctlSetTermios(int(fd), unix.TCSETS, t)
	})
	return errors.Join(err, set)
}
