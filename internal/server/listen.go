package server

import (
	"fmt"
	"net"
	"net/netip"
	"strconv"
)

// checkListen refuses what is no address and, where nobody else is let in, every
// address that others could reach.
func checkListen(address string, others bool) error {
	host, port, err := net.SplitHostPort(address)
	if err != nil {
		return fmt.Errorf("listen on %q: want host:port such as 127.0.0.1:8080", address)
	}
	if _, err := strconv.ParseUint(port, 10, 16); err != nil {
		return fmt.Errorf("listen on %q: want a port from 0 to 65535, got %q", address, port)
	}
	if !others && !thisMachine(host) {
		return notThisMachine(address)
	}
	return nil
}

func notThisMachine(address string) error {
	return fmt.Errorf("listen on %s: no other machine is let in; use 127.0.0.1:8080 or [::1]:8080", address)
}

// thisMachine tells whether a host, with or without the brackets of an IPv6
// address, can only mean this machine.
func thisMachine(host string) bool {
	if host == "localhost" {
		return true
	}
	if len(host) > 2 && host[0] == '[' && host[len(host)-1] == ']' {
		host = host[1 : len(host)-1]
	}
	ip, err := netip.ParseAddr(host)
	return err == nil && ip.Unmap().IsLoopback()
}
