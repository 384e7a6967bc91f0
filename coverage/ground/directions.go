package ground

// weights is the share of the area by the sector of its travel, and of its bars.
type weights struct {
	travel, bar [sectors]float64
}

func (c *compass) weigh(log []Quad) (w weights) {
	var travel, bar [sectors]Area
	var total Area
	for _, q := range log {
		a := q.Area()
		total += a
		if i, ok := c.sector(q.travel()); ok {
			travel[i] += a
		}
		if i, ok := c.sector(q.bar()); ok {
			bar[i] += a
		}
	}
	if total == 0 {
		return w
	}
	for i := range sectors {
		w.travel[i] = float64(travel[i]) / float64(total)
		w.bar[i] = float64(bar[i]) / float64(total)
	}
	return w
}

// cost says how bad scanlines along that sector are: the share of the work that
// runs along them, plus a little for being far from offSector.
func (w *weights) cost(scan int) float64 {
	sum := 0.0
	for i := range sectors {
		off := (i - scan + 2*sectors) % sectors
		off = min(off, sectors-off)
		p := 0.0
		if off <= 2 {
			p = 1
		}
		far := float64(offSector - off)
		if far < 0 {
			far = -far
		}
		sum += float64(w.travel[i]*(p+float64(far*0.002))) + float64(w.bar[i]*p*0.25)
	}
	return sum
}
