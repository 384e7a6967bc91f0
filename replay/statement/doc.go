// Package statement decodes what a person states: the implement, the tanks,
// the field, a mark, the weather. The same shapes come as YAML in the
// configuration file and as JSON in operator lines and corrections, so both
// become one tree of Nodes first and are decoded once.
//
//	JSON text --FromJSON--> Node --Line-----> Operator
//	YAML file --(config)--> Node --Implement--> coverage.Implement
//	                             --Tanks------> []coverage.Tank
//	                             --BoundaryFile-> orb.MultiPolygon
//
// Decoding is strict: an unknown member, a value of the wrong kind, a unit that
// does not fit and an impossible value are faults, and all of them are
// reported, each with its place and with what was expected. A member that has
// a fault does not act; its neighbours do. Nothing is guessed: what was not
// stated stays absent.
//
// The package knows no files, no clock and no YAML.
package statement
