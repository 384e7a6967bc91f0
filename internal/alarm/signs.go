package alarm

import "time"

// counter tells for how long a count has stood still.
type counter struct {
	n     uint64
	still time.Duration
	ever  bool // it has ever moved
}

func (c *counter) step(n uint64, dt time.Duration) {
	c.still += dt
	if n != c.n {
		c.n, c.still, c.ever = n, 0, true
	}
}

// motion tells whether the machine moves.
type motion struct {
	moving bool
	slow   time.Duration
}

// step takes the speed of a view; without a fresh fix nothing is known and what
// was holds.
func (m *motion) step(v *View, fresh bool, dt time.Duration) {
	switch {
	case !fresh || !v.HasSpeed:
	case v.SpeedMPS >= movingMPS:
		m.moving, m.slow = true, 0
	case v.SpeedMPS >= standingMPS:
		m.slow = 0
	default:
		if m.slow += dt; m.slow >= standsAfter {
			m.moving = false
		}
	}
}
