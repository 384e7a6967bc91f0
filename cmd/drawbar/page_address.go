package main

import (
	"fmt"
	"io"
	"net"
	"net/netip"
	"strings"
)

// tellPage says where the page is.
func tellPage(w io.Writer, before, listens, after string) {
	page, elsewhere := pageAt(listens)
	fmt.Fprintf(w, "%sopen %s%s\n", before, page, after)
	if elsewhere != "" {
		fmt.Fprintln(w, elsewhere)
	}
}

// pageAt is the address of the page on this machine, and in words how other devices
// reach it; empty where they cannot.
func pageAt(listens string) (page, elsewhere string) {
	host, port, err := net.SplitHostPort(listens)
	if err != nil {
		return "http://" + listens + "/", ""
	}
	ip, err := netip.ParseAddr(host)
	if err != nil || !ip.IsUnspecified() {
		return "http://" + listens + "/", ""
	}
	var others []string
	addrs, _ := net.InterfaceAddrs() // without them the port must do
	for _, a := range addrs {
		if n, ok := a.(*net.IPNet); ok && n.IP.IsGlobalUnicast() && len(others) < 3 {
			others = append(others, "http://"+net.JoinHostPort(n.IP.String(), port)+"/")
		}
	}
	if len(others) == 0 {
		others = []string{"port " + port + " of this machine"}
	}
	return "http://" + net.JoinHostPort("127.0.0.1", port) + "/", fmt.Sprintf("from another device: %s", strings.Join(others, " or "))
}
