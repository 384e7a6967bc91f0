// Package controller reads the text lines of a rate controller: one line in,
// one Report out.
//
// How a line is written is described by a line profile (ProfileSpec), which
// Compile checks and turns into a Profile. A Decoder reads lines by a Profile:
//
//	profile, problems := controller.Compile(spec, defaults)
//	decoder := profile.NewDecoder()
//	report, refused := decoder.Line([]byte("work=1 sections=1111 tank.1.rate=112.5kg/ha*37"))
//
// A line takes this way; whatever stops it on the way is the Reason of its
// refusal, and a refused line says nothing at all:
//
//	length -> text -> checksum -> shape of the kind -> each value: number, unit, range -> Report
//	too_long  not_text  checksum  bad_pair, no_match,   bad_number, bad_unit, ...
//	                              missing_column, ...
//
// Three kinds of line are known. keyvalue is key=value pairs. delimited is
// columns between separators. pattern is an RE2 expression with named groups.
//
// Inside a Report everything is SI: kg, litre, seeds, per m2 or per second, and
// m/s. What a line did not say is not in its Has masks; it is never zero. What
// holds from one line to the next (rates, sections), what is stale and what
// reaches the ground when is not known here.
//
// The package has no clock, no files and no state but the header line of a
// delimited profile, so the same lines give the same reports on any machine.
package controller
