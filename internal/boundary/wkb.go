package boundary

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// Well-known binary (OGC 06-103r4, section 8.2; ISO 13249-3 for heights and
// measures): a byte for the order of the others, the type as uint32, then of a
// polygon the number of rings, of each the number of points, x, y and what else
// the type has; of a multipolygon or a collection the number of parts, each again
// well-known binary.
const (
	wkbPolygon      = 3
	wkbMultiPolygon = 6
	wkbCollection   = 7
	wkbMaxDepth     = 8
)

var errWKBCut = errors.New("a geometry that is cut off")

type wkbReader struct {
	b     []byte
	order binary.ByteOrder
}

// readWKB reads the polygons of a geometry.
func readWKB(b []byte) (orb.MultiPolygon, error) {
	r := &wkbReader{b: b}
	out, err := r.geometry(0)
	if err == nil && len(r.b) > 0 {
		return nil, errors.New("a geometry with bytes behind it")
	}
	return out, err
}

func (r *wkbReader) count(each int) (int, error) {
	if len(r.b) < 4 {
		return 0, errWKBCut
	}
	n := r.order.Uint32(r.b)
	r.b = r.b[4:]
	if int64(n)*int64(each) > int64(len(r.b)) {
		return 0, errWKBCut
	}
	return int(n), nil
}

func (r *wkbReader) geometry(depth int) (orb.MultiPolygon, error) {
	if len(r.b) < 5 {
		return nil, errWKBCut
	}
	if depth > wkbMaxDepth {
		return nil, errors.New("collections inside one another")
	}
	switch r.b[0] {
	case 0:
		r.order = binary.BigEndian
	case 1:
		r.order = binary.LittleEndian
	default:
		return nil, fmt.Errorf("a byte order of %d", r.b[0])
	}
	typ := r.order.Uint32(r.b[1:])
	r.b = r.b[5:]
	numbers := 2 // of a point
	switch typ / 1000 {
	case 1, 2:
		numbers = 3
	case 3:
		numbers = 4
	case 0:
	default:
		return nil, fmt.Errorf("a geometry of type %d", typ)
	}
	switch typ % 1000 {
	case wkbPolygon:
		p, err := r.polygon(numbers)
		if err != nil || len(p) == 0 {
			return nil, err
		}
		return orb.MultiPolygon{p}, nil
	case wkbMultiPolygon, wkbCollection:
		n, err := r.count(5)
		if err != nil {
			return nil, err
		}
		var out orb.MultiPolygon
		for range n {
			parts, err := r.geometry(depth + 1)
			if err != nil {
				return nil, err
			}
			out = append(out, parts...)
		}
		return out, nil
	case 1, 2, 4, 5:
		return nil, errors.New("a geometry of points or lines")
	default:
		return nil, fmt.Errorf("a geometry of type %d (curves are not read)", typ)
	}
}

func (r *wkbReader) polygon(numbers int) (orb.Polygon, error) {
	rings, err := r.count(4)
	if err != nil {
		return nil, err
	}
	var p orb.Polygon
	for range rings {
		n, err := r.count(8 * numbers)
		if err != nil {
			return nil, err
		}
		ring := make(orb.Ring, n)
		for i := range ring {
			at := 8 * numbers * i
			ring[i] = orb.Point{math.Float64frombits(r.order.Uint64(r.b[at:])), math.Float64frombits(r.order.Uint64(r.b[at+8:]))}
		}
		r.b = r.b[8*numbers*n:]
		p = append(p, ring)
	}
	return p, nil
}
