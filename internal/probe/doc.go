// Package probe says what a port carries, from lines that were read of it: a
// receiver's sentences with their rates, a controller's lines with the profile
// that reads them or the one to try, text of neither kind, noise, or nothing.
//
//	f := probe.Analyse(lines, probe.Options{Address: "/dev/ttyUSB0", Baud: 9600})
//	fmt.Print(f.Words())
//
// Analyse is a function of its arguments alone: it opens nothing and has no
// clock. What it proposes is a guess by the look of the values, and says so: only
// the controller's own display tells what a column really is.
package probe
