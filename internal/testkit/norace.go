//go:build !race

package testkit

// Race tells whether the race detector is on, which allocates for itself.
const Race = false
