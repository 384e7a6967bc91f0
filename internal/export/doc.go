// Package export writes results for other programs and for people: GeoJSON files
// (RFC 7946) and a readable summary. It works nothing out itself; what it writes
// is what the core says, and unknown is written as null or "unknown".
//
// Files are deterministic: the same results give the same bytes on any machine.
package export
