package statement

import "strings"

// nearest is the known key that s was probably meant to be, "" where none is
// near. A key that only lacks or has too much at its ends (a forgotten unit,
// "hitch_to_bar" for "hitch_to_bar_m") counts as near.
func nearest(s string, known []string) string {
	if len(s) > 64 {
		return "" // nobody mistyped that
	}
	s = strings.ToLower(s)
	best, found := len(s)/3+1, ""
	for _, k := range known {
		d := distance(s, k)
		if len(s) >= 3 && (strings.HasPrefix(k, s) || strings.HasPrefix(s, k)) {
			d = min(d, 1)
		}
		if d <= best && (found == "" || d < best) {
			best, found = d, k
		}
	}
	return found
}

// distance is the number of single letters to insert, delete or replace, or
// neighbours to swap, that turn a into b.
func distance(a, b string) int {
	prev2 := make([]int, len(b)+1)
	prev := make([]int, len(b)+1)
	row := make([]int, len(b)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(prev[j]+1, row[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], prev2[j-2]+1)
			}
		}
		prev2, prev, row = prev, row, prev2
	}
	return prev[len(b)]
}
