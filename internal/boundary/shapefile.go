package boundary

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"path/filepath"
	"strings"

	"github.com/paulmach/orb"
)

// A Shapefile is several files of one name. The .shp, by "ESRI Shapefile
// Technical Description", July 1998, pages 2 to 24:
//
//	byte 0    file code 9994, big-endian
//	byte 24   length of the file in words of 2 bytes, big-endian
//	byte 28   version 1000, byte 32 shape type: little-endian from here on
//	byte 100  records: number and length of the content in words, big-endian; then
//	          the content: shape type, box (4 doubles), number of parts and of
//	          points, the first point of each part, the points as x, y
//
// of types 15 (with heights) and 25 (with measures) more follows the points, which
// is passed over. The index (.shx) is not needed to read one after the other.
const (
	shpHeader    = 100
	shpPolygon   = 5
	shpPolygonZ  = 15
	shpPolygonM  = 25
	shpPointsAt  = 44 // of a record's content, where the parts begin
	shpMaxFields = 4 * MaxFields
)

func shpTypeWords(t uint32) string {
	switch t {
	case 1, 11, 21:
		return "points"
	case 3, 13, 23:
		return "lines"
	case 8, 18, 28:
		return "groups of points"
	case 31:
		return "multipatches"
	default:
		return fmt.Sprintf("shapes of type %d", t)
	}
}

// beside reads a file of the Shapefile by its extension, in small letters or in
// capitals; nil = there is none.
func (r *reader) beside(ext string) []byte {
	stem := strings.TrimSuffix(r.file, filepath.Ext(r.file))
	for _, e := range []string{ext, strings.ToUpper(ext)} {
		b, err := r.open(stem + e)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			r.faults = append(r.faults, fileFault(stem+e, err))
			return nil
		}
		if len(b) > MaxBytes {
			r.fault("", fmt.Sprintf("a %s of more than %d MB", ext, MaxBytes>>20), "a smaller file")
			return nil
		}
		return b
	}
	return nil
}

func (r *reader) shapefile(b []byte) {
	if len(b) < shpHeader {
		r.fault("", "a Shapefile cut off in its header", "the whole file")
		return
	}
	if typ := binary.LittleEndian.Uint32(b[32:]); typ != shpPolygon && typ != shpPolygonZ && typ != shpPolygonM {
		r.fault("", "a Shapefile of "+shpTypeWords(typ), "one of polygons")
		return
	}
	if words := int64(binary.BigEndian.Uint32(b[24:])); 2*words > int64(len(b)) {
		r.fault("", fmt.Sprintf("%d bytes of the %d that the header states", len(b), 2*words), "the whole file")
		return
	} else if 2*words >= shpHeader {
		b = b[:2*words]
	}
	if !r.prj(r.beside(".prj"), b) {
		return
	}
	var table *dbf
	if t := r.beside(".dbf"); t != nil {
		if table = r.dbf(t, r.beside(".cpg")); table == nil {
			return
		}
	}
	if len(r.faults) > 0 {
		return
	}
	n := 0
	for at := shpHeader; at < len(b); n++ {
		if n >= shpMaxFields || r.full {
			r.fault("", fmt.Sprintf("more than %d records", n), "a smaller file: export the fields that are farmed")
			return
		}
		if len(b)-at < 8 {
			r.fault(fmt.Sprintf("record %d", n+1), "the end of the file", "the whole file")
			return
		}
		length := 2 * int64(binary.BigEndian.Uint32(b[at+4:]))
		at += 8
		if length > int64(len(b)-at) {
			r.fault(fmt.Sprintf("record %d", n+1), "the end of the file", "the whole file")
			return
		}
		r.shpRecord(b[at:at+int(length)], n, table)
		at += int(length)
	}
	if table != nil && table.records != n {
		r.fault("", fmt.Sprintf("%d shapes with %d rows in the .dbf", n, table.records), "a .dbf of the same export")
	}
}

// prj puts the reference system in force. Without a .prj, places that can be
// degrees are taken for WGS 84, with a warning.
func (r *reader) prj(text, shp []byte) bool {
	if text == nil {
		box := [4]float64{}
		for i := range box {
			box[i] = math.Float64frombits(binary.LittleEndian.Uint64(shp[36+8*i:]))
		}
		if !(box[0] >= -180 && box[2] <= 180 && box[1] >= -90 && box[3] <= 90) {
			r.fault("", "metres and no .prj that says on which map", "a .prj beside it, or degrees: export in WGS 84 (EPSG:4326)")
			return false
		}
		r.use(geographic(datum{"WGS 84", "no .prj states the reference system: taken as WGS 84 degrees"}))
		return true
	}
	s, ok := fromWKT(strings.TrimPrefix(string(text), "\ufeff"))
	if !ok {
		r.fault("", "the .prj "+systemName(string(text))+", "+advice, "WGS 84, ETRS89 or NAD83 in degrees or UTM, or Web Mercator")
		return false
	}
	r.use(s)
	return true
}

// systemName is what a well-known text calls its system.
func systemName(text string) string {
	if n, ok := parseWKT(strings.TrimPrefix(text, "\ufeff")); ok && len(n.parts) > 0 && n.parts[0].text != "" {
		return clean(n.parts[0].text)
	}
	return clean(text[:min(len(text), 60)])
}

// shpRecord reads the content of record n, counted from 0.
func (r *reader) shpRecord(b []byte, n int, table *dbf) {
	at := fmt.Sprintf("record %d", n+1)
	name := ""
	if table != nil {
		row, ok := table.row(n)
		if !ok {
			return // told once, by the number of rows
		}
		if row.deleted {
			return
		}
		if name, ok = r.dbfName(at, table, row); !ok {
			return
		}
	}
	if len(b) < 4 {
		r.fault(called(at, clean(name)), "a record cut off", "the whole file")
		return
	}
	typ := binary.LittleEndian.Uint32(b)
	if typ == 0 {
		return // a row without a shape
	}
	if typ != shpPolygon && typ != shpPolygonZ && typ != shpPolygonM {
		r.fault(called(at, clean(name)), shpTypeWords(typ), "a polygon")
		return
	}
	rings, ok := shpRings(b)
	if !ok {
		r.fault(called(at, clean(name)), "a polygon whose numbers of parts and points do not fit its length", "an undamaged file")
		return
	}
	r.add(at, name, polygonsOf(rings))
}

// shpRings reads the rings of a polygon's content.
func shpRings(b []byte) (rings []orb.Ring, ok bool) {
	if len(b) < shpPointsAt {
		return nil, false
	}
	parts, points := int64(binary.LittleEndian.Uint32(b[36:])), int64(binary.LittleEndian.Uint32(b[40:]))
	if shpPointsAt+4*parts+16*points > int64(len(b)) || parts > points || parts == 0 && points > 0 {
		return nil, false
	}
	first := func(i int64) int64 {
		if i == parts {
			return points
		}
		return int64(binary.LittleEndian.Uint32(b[shpPointsAt+4*i:]))
	}
	b2 := b[shpPointsAt+4*parts:]
	for i := range parts {
		from, to := first(i), first(i+1)
		if from > to || to > points || i == 0 && from != 0 {
			return nil, false
		}
		ring := make(orb.Ring, 0, to-from)
		for k := from; k < to; k++ {
			ring = append(ring, orb.Point{
				math.Float64frombits(binary.LittleEndian.Uint64(b2[16*k:])),
				math.Float64frombits(binary.LittleEndian.Uint64(b2[16*k+8:])),
			})
		}
		rings = append(rings, ring)
	}
	return rings, true
}
