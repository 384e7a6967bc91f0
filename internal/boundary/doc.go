// Package boundary reads the outlines of fields from the files that farm offices
// have: GeoJSON, GeoPackage, ESRI Shapefile, KML and KMZ.
//
//	fields, err := boundary.Read("fields.gpkg", boundary.OpenFile, boundary.Options{})
//	field, err := boundary.Pick("fields.gpkg", fields, "Mill Piece")
//
//	format      after                                        reference system
//	GeoJSON     RFC 7946                                     WGS 84 degrees
//	GeoPackage  OGC 12-128                                   of the table's geometry column
//	Shapefile   ESRI Shapefile Technical Description, 1998   of the .prj
//	KML 2.2     OGC 07-147r2, KMZ too                        WGS 84 degrees
//	.zip        any number of the others                     of each
//
// What a file is, its content tells, not its name. Places come out in WGS 84
// degrees, longitude before latitude: degrees, UTM and Web Mercator are read, any
// other reference system is refused (a converter does that better), and what is
// off by a datum is a warning of the field.
//
// Every outline has passed the checks of an operator's line: rings enclose
// ground, cross nothing, holes lie inside. What can be read in one way only is
// mended: a ring's direction, a ring not closed, a position stated twice.
//
// Files come from anywhere: sizes and numbers are bounded (see the constants),
// and whatever is wrong is an *Error that names file, place and field.
package boundary
