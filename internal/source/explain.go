package source

import (
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"syscall"

	"go.bug.st/serial"
)

// explain says why a port is lost or cannot be opened, and what to do about it.
func explain(a Address, err error) error {
	if a.Kind == KindSerial {
		return explainSerial(a.Place, err)
	}
	var lookup *net.DNSError
	var timeout net.Error
	switch {
	case errors.Is(err, io.EOF), errors.Is(err, syscall.ECONNRESET):
		return fmt.Errorf("%s closed the connection", a.Place)
	case errors.Is(err, syscall.ECONNREFUSED):
		return fmt.Errorf("nothing answers at %s: see that it is switched on and that the port's number is right", a.Place)
	case errors.Is(err, syscall.EADDRINUSE):
		return fmt.Errorf("%s is in use by another program: end that one first", a.Place)
	case errors.As(err, &lookup):
		return fmt.Errorf("%s: no such host: write its number, or see that its name is right", a.Place)
	case errors.As(err, &timeout) && timeout.Timeout():
		return fmt.Errorf("no answer from %s: see that it is switched on and in the same network", a.Place)
	default:
		return fmt.Errorf("%s: %w", a.Place, err)
	}
}

func explainSerial(path string, err error) error {
	is := func(code serial.PortErrorCode) bool {
		var e *serial.PortError
		return errors.As(err, &e) && e.Code() == code
	}
	switch {
	case errors.Is(err, os.ErrNotExist):
		return fmt.Errorf("%s is not there: plug the device in, and see its name with ls -l /dev/serial/by-id", path)
	case is(serial.PermissionDenied), errors.Is(err, os.ErrPermission):
		return fmt.Errorf("no permission to read %s: add the user to the group dialout (sudo usermod -aG dialout USER) and log in again", path)
	case is(serial.PortBusy):
		return fmt.Errorf("%s is in use by another program: end that one first", path)
	case is(serial.InvalidSerialPort), errors.Is(err, errNotSerial):
		return fmt.Errorf("%s is no serial port: see those there are with ls -l /dev/serial/by-id", path)
	case is(serial.PortClosed), errors.Is(err, errGone), errors.Is(err, syscall.EIO), errors.Is(err, syscall.ENXIO), errors.Is(err, syscall.ENODEV):
		return fmt.Errorf("%s was unplugged or switched off", path)
	default:
		return fmt.Errorf("%s: %w", path, err)
	}
}
