package statement

import (
	"fmt"
	"strings"

	"github.com/paulmach/orb"
)

// Boundary reads a GeoJSON geometry (RFC 7946) of type Polygon or MultiPolygon
// as a field's outline: WGS 84 degrees, longitude before latitude. Rings enclose
// ground, cross neither themselves nor one another, holes lie inside, polygons
// apart; what is wrong is told with its place. Either direction of turn is
// accepted, a third number of a position is passed over, and a ring whose first
// position is not repeated at the end is closed.
func Boundary(n *Node, at string, faults *Faults) (orb.MultiPolygon, bool) {
	before := faults.Len()
	b := geometry(n, at, faults)
	if faults.Len() == before {
		checkApart(b, n, at, faults)
	}
	if faults.Len() > before {
		return nil, false
	}
	return b, true
}

// BoundaryFile reads what a boundary file holds: a geometry as Boundary does, a
// Feature, or a FeatureCollection, whose polygons together are the field.
func BoundaryFile(n *Node, at string, faults *Faults) (orb.MultiPolygon, bool) {
	before := faults.Len()
	b := fileObject(n, at, faults)
	if faults.Len() > before {
		return nil, false
	}
	if len(b) == 0 {
		faults.Add(n, at, "no outline", "at least one Polygon or MultiPolygon")
		return nil, false
	}
	if checkApart(b, n, at, faults); faults.Len() > before {
		return nil, false
	}
	return b, true
}

func fileObject(n *Node, at string, faults *Faults) orb.MultiPolygon {
	crs(n, at, faults)
	switch typ := n.Get("type"); {
	case typ.isText("FeatureCollection"):
		features := n.Get("features")
		if features == nil || features.Kind != KindList {
			faults.Add(orParent(features, n), join(at, "features"), orNothing(features), "a list of features")
			return nil
		}
		var all orb.MultiPolygon
		for i := range features.Items {
			all = append(all, feature(&features.Items[i], indexed(join(at, "features"), i), faults)...)
		}
		return all
	case typ.isText("Feature"):
		return feature(n, at, faults)
	default:
		return geometry(n, at, faults)
	}
}

// feature reads one Feature. Its geometry may be null (RFC 7946 section 3.2):
// an entry without a place.
func feature(n *Node, at string, faults *Faults) orb.MultiPolygon {
	if typ := n.Get("type"); !typ.isText("Feature") {
		faults.Add(orParent(typ, n), join(at, "type"), orNothing(typ), "Feature")
		return nil
	}
	g := n.Get("geometry")
	if g == nil {
		faults.Add(n, join(at, "geometry"), "nothing", "a Polygon or MultiPolygon")
		return nil
	}
	if g.Kind == KindNull {
		return nil
	}
	return geometry(g, join(at, "geometry"), faults)
}

func geometry(n *Node, at string, faults *Faults) orb.MultiPolygon {
	const want = "a GeoJSON geometry of type Polygon or MultiPolygon"
	if n.Kind != KindMap {
		faults.Add(n, at, describe(n), want)
		return nil
	}
	typ, coordinates := n.Get("type"), n.Get("coordinates")
	polygon, multi := typ.isText("Polygon"), typ.isText("MultiPolygon")
	if !polygon && !multi {
		faults.Add(orParent(typ, n), join(at, "type"), orNothing(typ), want)
		return nil
	}
	path := join(at, "coordinates")
	if coordinates == nil || coordinates.Kind != KindList || len(coordinates.Items) == 0 {
		got := orNothing(coordinates)
		if coordinates != nil && coordinates.Kind == KindList {
			got = "an empty list"
		}
		faults.Add(orParent(coordinates, n), path, got, "the rings of the outline")
		return nil
	}
	if polygon {
		return orb.MultiPolygon{rings(coordinates, path, faults)}
	}
	outline := make(orb.MultiPolygon, 0, len(coordinates.Items))
	for i := range coordinates.Items {
		outline = append(outline, rings(&coordinates.Items[i], indexed(path, i), faults))
	}
	return outline
}

func rings(n *Node, at string, faults *Faults) orb.Polygon {
	if n.Kind != KindList || len(n.Items) == 0 {
		got := describe(n)
		if n.Kind == KindList {
			got = "an empty list"
		}
		faults.Add(n, at, got, "a list of rings, the outer one first")
		return nil
	}
	before := faults.Len()
	p := make(orb.Polygon, 0, len(n.Items))
	for i := range n.Items {
		p = append(p, ring(&n.Items[i], indexed(at, i), faults))
	}
	count := 0
	for _, r := range p {
		count += len(r)
	}
	if faults.Len() == before && !tooMany(count, n, at, faults) {
		checkPolygon(p, n, at, faults)
	}
	return p
}

func ring(n *Node, at string, faults *Faults) orb.Ring {
	if n.Kind != KindList {
		faults.Add(n, at, describe(n), "a ring: a list of positions")
		return nil
	}
	if tooMany(len(n.Items), n, at, faults) {
		return nil
	}
	r := make(orb.Ring, 0, len(n.Items)+1)
	for i := range n.Items {
		p, ok := position(&n.Items[i], indexed(at, i), faults)
		if !ok {
			return nil // one fault a ring: the others are likely the same
		}
		r = append(r, p)
	}
	return closed(r, n, at, faults)
}

// closed closes a ring and says what keeps it from enclosing ground. n is its list
// of positions or nil.
func closed(r orb.Ring, n *Node, at string, faults *Faults) orb.Ring {
	stated := len(r)
	if len(r) > 0 && r[0] != r[len(r)-1] {
		r = append(r, r[0])
	}
	if len(r) < 4 {
		faults.Add(n, at, fmt.Sprintf("%d positions", stated), "a ring of at least 4, the last one the same as the first")
		return nil
	}
	if flat(r) {
		faults.Add(n, at, "positions on one line", "a ring that encloses ground")
		return nil
	}
	checkRing(r, n, at, faults)
	return r
}

// position reads [longitude, latitude] or with an altitude, which is dropped.
func position(n *Node, at string, faults *Faults) (orb.Point, bool) {
	if n.Kind != KindList || len(n.Items) < 2 || n.Items[0].Kind != KindNumber || n.Items[1].Kind != KindNumber {
		faults.Add(n, at, describe(n), "a position [longitude, latitude] in degrees")
		return orb.Point{}, false
	}
	if p := (orb.Point{n.Items[0].Num, n.Items[1].Num}); onEarth(p) {
		return p, true
	}
	got := "[" + cut(n.Items[0].Text) + ", " + cut(n.Items[1].Text) + "]"
	faults.Add(n, at, got, wantDegrees)
	return orb.Point{}, false
}

const wantDegrees = "WGS 84 degrees, longitude (-180 to 180) before latitude (-90 to 90)"

func onEarth(p orb.Point) bool {
	return (Range{Min: -180, Max: 180}).holds(p[0]) && (Range{Min: -90, Max: 90}).holds(p[1])
}

// flat tells whether all positions lie on one line.
func flat(r orb.Ring) bool {
	a := r[0]
	for i := 1; i+1 < len(r); i++ {
		b, c := r[i], r[i+1]
		if float64((b[0]-a[0])*(c[1]-a[1])) != float64((b[1]-a[1])*(c[0]-a[0])) {
			return false
		}
	}
	return true
}

// crs refuses the member "crs" of an older GeoJSON where it names anything but
// WGS 84 (RFC 7946 section 4 took it out).
func crs(n *Node, at string, faults *Faults) {
	c := n.Get("crs")
	if c == nil || c.Kind == KindNull {
		return
	}
	name := c.Get("properties").Get("name")
	if name != nil && name.Kind == KindText {
		for _, wgs84 := range []string{"CRS84", ":4326"} {
			if strings.HasSuffix(name.Text, wgs84) {
				return
			}
		}
	}
	if name == nil {
		name = c
	}
	faults.Add(name, join(at, "crs"), value(name), "WGS 84 longitude and latitude and no other reference system")
}

func join(at, key string) string { return Object{at: at}.path(key) }

func orParent(n, parent *Node) *Node {
	if n == nil {
		return parent
	}
	return n
}

func orNothing(n *Node) string {
	if n == nil {
		return "nothing"
	}
	return value(n)
}

// at2 writes a position as it stands in GeoJSON.
func at2(p orb.Point) string { return "[" + short(p[0]) + ", " + short(p[1]) + "]" }
