package simdir

import (
	"encoding/json"
	"strconv"

	"drawbar/internal/sim"
)

// Boundary is the field's outline as GeoJSON (RFC 7946): one feature, the ring
// counter-clockwise and closed, longitude first, nine decimals (0.1 mm).
func Boundary(f sim.Field) []byte {
	name, err := json.Marshal(f.Name)
	if err != nil {
		name = []byte(`""`)
	}
	b := append([]byte(`{"type":"Feature","properties":{"name":`), name...)
	b = append(b, `},"geometry":{"type":"Polygon","coordinates":[[`...)
	for i, p := range f.Ring() {
		if i > 0 {
			b = append(b, ',')
		}
		b = strconv.AppendFloat(append(b, '['), p[0], 'f', 9, 64)
		b = strconv.AppendFloat(append(b, ','), p[1], 'f', 9, 64)
		b = append(b, ']')
	}
	return append(b, "]]}}\n"...)
}
