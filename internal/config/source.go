package config

import (
	"errors"
	"fmt"
	"io/fs"
	"net"
	"slices"
	"strconv"
	"strings"

	ports "drawbar/internal/source"
	"drawbar/replay/statement"
)

const wantSource = "a serial port's path such as /dev/ttyUSB0, tcp://host:port or udp://:port"

// source reads where lines come from, "" where it is not stated.
func source(o statement.Object) string {
	s, ok := o.Name("source", wantSource)
	if !ok {
		return ""
	}
	if _, err := ports.ParseAddress(s); err != nil {
		o.Fault("source", s, wantSource)
		return ""
	}
	return s
}

// hostPort tells whether s is host:port; the host may be empty.
func hostPort(s string) bool {
	host, port, err := net.SplitHostPort(s)
	if err != nil || strings.ContainsAny(host, "/ \t@?#") {
		return false
	}
	_, err = strconv.ParseUint(port, 10, 16)
	return err == nil
}

// bauds are the usual rates of serial ports in bits a second.
func bauds() []int {
	return []int{1200, 2400, 4800, 9600, 14400, 19200, 28800, 38400, 57600, 76800, 115200, 230400, 460800, 921600}
}

// baud reads the rate of a serial port, 0 where it is to be found out.
func baud(o statement.Object) int {
	n := o.Get("baud")
	if n == nil {
		return 0
	}
	usual := bauds()
	v, ok := o.Int("baud", 0, usual[len(usual)-1])
	if ok && v != 0 && !slices.Contains(usual, v) {
		words := make([]string, len(usual))
		for i, rate := range usual {
			words[i] = strconv.Itoa(rate)
		}
		o.Fault("baud", strconv.Itoa(v), fmt.Sprintf("0 (find out) or one of %s", strings.Join(words, ", ")))
		return 0
	}
	return v
}

// reason is why a file could not be read, without its path, which the message
// has already.
func reason(err error) string {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err.Error()
	}
	return err.Error()
}
