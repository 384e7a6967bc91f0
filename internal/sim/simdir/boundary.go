package simdir

import (
	"encoding/json"
	"strconv"

	"drawbar/internal/sim"
)

// Boundary is the field's outline as GeoJSON (RFC 7946): one feature, the ring
// counter-clockwise and closed, longitude first, nine decimals (0.1 mm).
func Boundary(f sim.Field) []byte { return append(feature(nil, f), '\n') }

// Boundaries is the outlines of several fields as one GeoJSON FeatureCollection.
func Boundaries(fields ...sim.Field) []byte {
	b := []byte(`{"type":"FeatureCollection","features":[`)
	for i, f := range fields {
		if i > 0 {
			b = append(b, ',')
		}
		b = feature(append(b, '\n'), f)
	}
	return append(b, "\n]}\n"...)
}

func feature(b []byte, f sim.Field) []byte {
	name, err := json.Marshal(f.Name)
	if err != nil {
		name = []byte(`""`)
	}
	b = append(append(b, `{"type":"Feature","properties":{"name":`...), name...)
	b = append(b, `},"geometry":{"type":"Polygon","coordinates":[[`...)
	for i, p := range f.Ring() {
		if i > 0 {
			b = append(b, ',')
		}
		b = strconv.AppendFloat(append(b, '['), p[0], 'f', 9, 64)
		b = strconv.AppendFloat(append(b, ','), p[1], 'f', 9, 64)
		b = append(b, ']')
	}
	return append(b, "]]}}"...)
}
