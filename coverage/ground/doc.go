// Package ground knows which ground is covered.
package ground
