package tiles

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/maptile"

	"drawbar/coverage/plane"
)

const (
	maxZoom = 22
	// around is how far from a plane's origin a tile shows what lies on it.
	around = 150_000 * plane.UnitsPerM
	// fitError is how far off, in tile units, a place may be drawn.
	fitError = 0.125
	equatorM = 2 * math.Pi * 6378137 // of the sphere of Web Mercator
)

// frame is a tile as a map of the world.
type frame struct {
	tile maptile.Tile
	n    float64 // tiles around the world
}

func newFrame(t maptile.Tile) frame { return frame{t, float64(uint32(1) << t.Z)} }

// units are those of the tile at a position, on the turn of the world nearest to
// it.
func (f frame) units(latDeg, lonDeg float64) (x, y float64) {
	at := maptile.Fraction(orb.Point{lonDeg, latDeg}, f.tile.Z)
	return f.nearest(at[0]-float64(f.tile.X)) * extent, (at[1] - float64(f.tile.Y)) * extent
}

// nearest brings a number of tiles to the right of the tile to the turn of the
// world where its middle is nearest.
func (f frame) nearest(x float64) float64 { return x - f.n*math.Round((x-0.5)/f.n) }

// position is where units lie.
func (f frame) position(x, y float64) (latDeg, lonDeg float64) {
	wx := (float64(f.tile.X) + x/extent) / f.n
	wy := (float64(f.tile.Y) + y/extent) / f.n
	return math.Atan(math.Sinh(math.Pi*(1-2*wy))) * 180 / math.Pi, (wx - 0.5) * 360
}

// view is the part of a plane that a tile shows. Places come into the tile by a
// polynomial of the second degree, fitted to that part, where that is good enough.
type view struct {
	frame
	plane  *plane.Plane
	lo, hi plane.Coord // box on the plane around the tile and its buffer
	coarse int64       // steps of 0.1 mm that two units take

	exact            bool // no polynomial is good enough
	midX, midY       float64
	halfX, halfY     float64
	cx, cy           [6]float64
	originX, lonZero float64
}

// newView is false where the tile shows nothing of the plane.
func newView(f frame, p *plane.Plane) (*view, bool) {
	v := &view{frame: f, plane: p}
	lat, lon := p.Origin()
	v.originX, _ = f.units(lat, lon)
	v.lonZero = lon
	metres := equatorM * math.Cos(lat*math.Pi/180) / f.n / extent
	v.coarse = int64(math.Max(1, 2*metres*plane.UnitsPerM))
	if !v.window() {
		return nil, false
	}
	v.fit()
	return v, true
}

// window finds the box on the plane.
func (v *view) window() bool {
	// What lies within reach, in units: the tile's share of that is looked for.
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, c := range [...][2]int64{{-1, -1}, {0, -1}, {1, -1}, {-1, 0}, {1, 0}, {-1, 1}, {0, 1}, {1, 1}} {
		x, y := v.exactly(plane.Coord{X: c[0] * around, Y: c[1] * around})
		x0, y0, x1, y1 = math.Min(x0, x), math.Min(y0, y), math.Max(x1, x), math.Max(y1, y)
	}
	const margin = buffer + 16
	whole := x0 < -margin && y0 < -margin && x1 > extent+margin && y1 > extent+margin
	x0, y0 = math.Max(x0, -margin), math.Max(y0, -margin)
	x1, y1 = math.Min(x1, extent+margin), math.Min(y1, extent+margin)
	if x0 >= x1 || y0 >= y1 {
		return false
	}
	if !whole { // a large tile shows all there is
		v.lo, v.hi = plane.Coord{X: -around, Y: -around}, plane.Coord{X: around, Y: around}
		return true
	}
	first := true
	for i := range 9 {
		lat, lon := v.position(x0+(x1-x0)*float64(i%3)/2, y0+(y1-y0)*float64(i/3)/2)
		c, ok := v.plane.ForwardCoord(lat, lon)
		if !ok {
			continue
		}
		if first {
			v.lo, v.hi, first = c, c, false
		}
		v.lo = plane.Coord{X: min(v.lo.X, c.X), Y: min(v.lo.Y, c.Y)}
		v.hi = plane.Coord{X: max(v.hi.X, c.X), Y: max(v.hi.Y, c.Y)}
	}
	// Sides between those places bend outwards by less than this.
	bend := (v.hi.X - v.lo.X) / 256
	v.lo, v.hi = plane.Coord{X: v.lo.X - bend, Y: v.lo.Y - bend}, plane.Coord{X: v.hi.X + bend, Y: v.hi.Y + bend}
	return !first
}

// exactly is a place of the plane in units.
func (v *view) exactly(c plane.Coord) (x, y float64) {
	lat, lon := v.plane.InverseCoord(c)
	_, y = v.units(lat, lon)
	// From the plane's origin on, so that no shape is torn where longitudes begin anew.
	turn := math.Remainder(lon-v.lonZero, 360)
	return v.originX + turn/360*v.n*extent, y
}

// fit finds the polynomial and checks it.
func (v *view) fit() {
	v.midX, v.midY = float64(v.lo.X+v.hi.X)/2, float64(v.lo.Y+v.hi.Y)/2
	v.halfX, v.halfY = float64(v.hi.X-v.lo.X)/2, float64(v.hi.Y-v.lo.Y)/2
	at := func(s, t float64) (x, y float64) {
		return v.exactly(plane.Coord{X: int64(v.midX + s*v.halfX), Y: int64(v.midY + t*v.halfY)})
	}
	var g [3][3][2]float64
	for i := range 3 {
		for j := range 3 {
			g[i][j][0], g[i][j][1] = at(float64(i-1), float64(j-1))
		}
	}
	for k, c := range []*[6]float64{&v.cx, &v.cy} {
		f := func(i, j int) float64 { return g[i][j][k] }
		c[0] = f(1, 1)
		c[1], c[2] = (f(2, 1)-f(0, 1))/2, (f(1, 2)-f(1, 0))/2
		c[3], c[5] = (f(2, 1)+f(0, 1))/2-c[0], (f(1, 2)+f(1, 0))/2-c[0]
		c[4] = (f(2, 2) - f(0, 2) - f(2, 0) + f(0, 0)) / 4
	}
	for _, c := range [...][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}, {0.6, 0}, {0, 0.6}, {-0.6, 0}, {0, -0.6}, {0.6, 0.6}, {-0.6, 0.6}} {
		x, y := at(c[0], c[1])
		px, py := v.polynomial(c[0], c[1])
		if math.Abs(px-x) > fitError/2 || math.Abs(py-y) > fitError/2 {
			v.exact = true
		}
	}
}

func (v *view) polynomial(s, t float64) (x, y float64) {
	c := &v.cx
	x = c[0] + s*(c[1]+s*c[3]+t*c[4]) + t*(c[2]+t*c[5])
	c = &v.cy
	return x, c[0] + s*(c[1]+s*c[3]+t*c[4]) + t*(c[2]+t*c[5])
}

// point is a place of the plane in the tile, to the nearest unit.
func (v *view) point(c plane.Coord) point {
	s, t := (float64(c.X)-v.midX)/v.halfX, (float64(c.Y)-v.midY)/v.halfY
	var x, y float64
	// Far outside the box the polynomial means nothing.
	if v.exact || max(math.Abs(s), math.Abs(t)) > 2 {
		x, y = v.exactly(c)
	} else {
		x, y = v.polynomial(s, t)
	}
	return point{int64(roundHalf(x)), int64(roundHalf(y))}
}

func roundHalf(v float64) float64 { return math.Floor(v + 0.5) }
