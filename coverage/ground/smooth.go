package ground

// smooth appends a ring without the corners that its neighbours can do without. Those
// half way between scanlines stay; between two of them a side runs up or down
// the lines, and each line's end may move by its play only: that keeps the order
// of all sides on every line, so none can cross another. The first and last of a
// side stay too: a long straight side must not start from a corner that was
// squared off.
func (o *outline) smooth(out, r ring) ring {
	fixed := int32(2 * len(o.lines.runs))
	n := len(r)
	for i := 0; i < n; {
		out = append(out, r[i])
		stop := i + 1
		for stop < n && r[stop] < fixed {
			stop++
		}
		if i+1 == stop {
			i = stop
			continue
		}
		i++
		out = append(out, r[i])
		for i+1 < stop {
			i = o.reach(r, i, stop-1)
			out = append(out, r[i])
		}
		i = stop
	}
	return out
}

// reach is the last corner, up to stop, to which a straight line from corner
// from passes all those between closely enough.
func (o *outline) reach(r ring, from, stop int) int {
	a := o.corners[r[from]]
	// Slopes that are still possible, as fractions.
	loX, loY, hiX, hiY := int64(-1)<<31, int64(1), int64(1)<<31, int64(1)
	last := from + 1
	for i := from + 1; i <= stop && i-last < maxAhead; i++ {
		c := o.corners[r[i]]
		dx, dy := int64(c.x)-int64(a.x), int64(c.y)-int64(a.y)
		if dy < 0 {
			dy = -dy
		}
		if dx*loY >= loX*dy && dx*hiY <= hiX*dy {
			last = i
		}
		if left := dx - int64(c.play); left*loY > loX*dy {
			loX, loY = left, dy
		}
		if right := dx + int64(c.play); right*hiY < hiX*dy {
			hiX, hiY = right, dy
		}
		if loX*hiY > hiX*loY {
			break
		}
	}
	return last
}

// maxAhead bounds the search for a corner in reach.
const maxAhead = 512
