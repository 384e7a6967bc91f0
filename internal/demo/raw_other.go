//go:build !linux

package demo

import "os"

// makeRaw leaves the pseudo-terminal to the serial library, which sets it up when
// it opens the port.
func makeRaw(*os.File) error { return nil }
