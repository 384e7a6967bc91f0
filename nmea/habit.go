package nmea

// key names a sentence within an epoch: the n-th of its kind, from 1.
type key struct {
	kind kind
	n    uint8
}

// keyCounts counts the sentences of an epoch by kind.
type keyCounts [kindCount]uint8

// add counts one more and returns its key. It stays at 255, which no receiver
// comes near to.
func (c *keyCounts) add(k kind) key {
	if c[k] < 255 {
		c[k]++
	}
	return key{k, c[k]}
}

const (
	// An epoch whose last sentence was clear weighs cleanWeight, one in which
	// something was damaged weighs 1: the last sentence may be what was lost.
	// Three clear ones in a row are enough.
	cleanWeight = 4
	habitWeight = 3 * cleanWeight
)

// habit learns which sentence usually is the last of an epoch.
type habit struct {
	usual     key
	candidate key
	weight    int
	known     bool
}

// observe takes the last sentence of an epoch.
func (h *habit) observe(last key, damaged bool) {
	if last != h.candidate {
		h.candidate, h.weight = last, 0
	}
	if damaged {
		h.weight++
	} else {
		h.weight += cleanWeight
	}
	if h.weight >= habitWeight {
		h.weight = habitWeight
		h.usual, h.known = last, true
	}
}

// ends tells whether an epoch usually ends with k.
func (h *habit) ends(k key) bool { return h.known && h.usual == k }

// forget starts over: the epoch went on after its usual end.
func (h *habit) forget() { *h = habit{} }
