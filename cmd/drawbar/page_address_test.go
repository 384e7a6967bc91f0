package main

import (
	"strings"
	"testing"
)

func TestPageAt(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		listens, page string
		elsewhere     bool
	}{
		{"127.0.0.1:8080", "http://127.0.0.1:8080/", false},
		{"[::1]:8080", "http://[::1]:8080/", false},
		{"[::]:8080", "http://127.0.0.1:8080/", true},
		{"0.0.0.0:18090", "http://127.0.0.1:18090/", true},
		{"192.0.2.7:8080", "http://192.0.2.7:8080/", false}, // of RFC 5737, for documentation
	} {
		page, elsewhere := pageAt(c.listens)
		if page != c.page || (elsewhere != "") != c.elsewhere {
			t.Errorf("%s: got %s, %q", c.listens, page, elsewhere)
		}
		if c.elsewhere && !strings.HasPrefix(elsewhere, "from another device: ") {
			t.Errorf("%s: got %q", c.listens, elsewhere)
		}
	}
}
