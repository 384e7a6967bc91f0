package source

import (
	"fmt"
	"net"
	"strconv"
	"strings"
)

// Kind is the way in which a source is reached.
type Kind uint8

// The kinds of address.
const (
	KindSerial Kind = iota // a serial port's path
	KindTCP                // tcp://host:port, to which we connect
	KindUDP                // udp://:port, on which we listen
)

// Address is where lines come from.
type Address struct {
	Kind  Kind
	Place string // the path, or host:port
}

const wantAddress = "write a serial port's path such as /dev/ttyUSB0, tcp://host:port or udp://:port"

// ParseAddress reads an address as a person writes it. An error says what to
// write instead. Whether anything is there is not looked at.
func ParseAddress(s string) (Address, error) {
	refuse := func(why string) (Address, error) {
		return Address{}, fmt.Errorf("address %q: %s: %s", s, why, wantAddress)
	}
	scheme, rest, hasScheme := strings.Cut(s, "://")
	switch {
	case s == "":
		return refuse("it is empty")
	case strings.TrimSpace(s) != s:
		return refuse("it has blanks around it")
	case hasScheme && (scheme == "tcp" || scheme == "udp"):
		host, port, err := net.SplitHostPort(rest)
		if err != nil || strings.ContainsAny(host, "/ \t@?#") {
			return refuse("it has no host:port behind " + scheme + "://")
		}
		if n, err := strconv.ParseUint(port, 10, 16); err != nil || n == 0 {
			return refuse("its port is no number from 1 to 65535")
		}
		if scheme == "udp" {
			return Address{Kind: KindUDP, Place: rest}, nil
		}
		if host == "" {
			return refuse("it names no host to connect to")
		}
		return Address{Kind: KindTCP, Place: rest}, nil
	case hasScheme:
		return refuse("it begins with neither tcp:// nor udp://")
	case strings.Contains(s, "/"):
		return Address{Kind: KindSerial, Place: s}, nil
	}
	if _, _, err := net.SplitHostPort(s); err == nil {
		return refuse("write tcp:// or udp:// before it if it is on the network")
	}
	return refuse("it is no path: did you mean /dev/" + s + "?")
}
