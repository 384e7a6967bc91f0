// Package yamltree reads YAML into the tree of nodes that package statement
// decodes, each with its line and column, so that a file written as YAML has the
// same faults, in the same words, as one written as JSON.
//
// Only what JSON has too is accepted: maps with plain keys, lists, texts, numbers,
// true, false and null. Anchors, aliases, tags, merge keys, directives, a key that
// stands twice and a second document are faults.
package yamltree
