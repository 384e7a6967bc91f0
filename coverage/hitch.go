package coverage

import "drawbar/coverage/plane"

// hitch is where the implement is coupled, for an antenna at a with the tractor
// pointing to headingRad.
func (im *Implement) hitch(a xy, headingRad float64) xy {
	return a.along(headingRad, -im.AntennaToHitchM, -im.AntennaRightM)
}

// trail is the heading of a towed implement after its hitch has gone straight
// from one point to the next. Towed wheels do not slip sideways, so the angle β
// between the implement and the pull shrinks as
//
//	tan(β'/2) = tan(β/2) · exp(-d/L)
//
// with d the distance pulled and L from the hitch to the wheels: the tractrix,
// exact for any step along a straight line (see "Exact equations for tractrix
// curves associated with vehicle offtracking", Vehicle System Dynamics
// 20(5):297-308, 1991). All angles are radians clockwise from grid north.
func trail(implementRad, hitchToAxleM float64, from, to xy) float64 {
	pull := to.minus(from)
	d := pull.length()
	if d == 0 {
		return implementRad
	}
	dir := pull.direction()
	s, c := plane.Sincos(plane.WrapPi(implementRad-dir) / 2)
	return plane.WrapPi(dir + float64(2*plane.Atan2(float64(s*plane.Exp(-d/hitchToAxleM)), c)))
}

// jackknifeRad is the largest angle between tractor and implement that a
// drawbar allows; backing up would carry the computation past it at once.
// Common practice, no source.
const jackknifeRad = plane.Pi / 2

// steer is the implement's heading after the tractor has moved, straight behind
// the tractor when behind is not yet known.
func (im *Implement) steer(implementRad float64, known bool, from, to xy, tractorRad float64) float64 {
	if im.Mount != MountTowed || !known {
		return tractorRad
	}
	h := trail(implementRad, im.HitchToAxleM, from, to)
	fold := plane.WrapPi(h - tractorRad)
	if fold > jackknifeRad {
		return plane.WrapPi(tractorRad + jackknifeRad)
	}
	if fold < -jackknifeRad {
		return plane.WrapPi(tractorRad - jackknifeRad)
	}
	return h
}

// bar writes the section ends from left to right, one more than there are
// sections, for a hitch at h and the implement pointing to implementRad.
func (im *Implement) bar(dst []plane.Coord, h xy, implementRad float64) []plane.Coord {
	dst = dst[:0]
	right := im.BarRightM - float64(im.WidthM()/2)
	for i := 0; ; i++ {
		p := h.along(implementRad, -im.HitchToBarM, right)
		dst = append(dst, plane.Snap(p.x, p.y))
		if i == len(im.SectionsM) {
			return dst
		}
		right += im.SectionsM[i]
	}
}
