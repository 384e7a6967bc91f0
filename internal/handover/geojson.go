package handover

import (
	"bufio"
	"encoding/json"
	"fmt"
)

type feature struct {
	Type     string `json:"type"`
	Geometry struct {
		Type        string         `json:"type"`
		Coordinates [2]json.Number `json:"coordinates"`
	} `json:"geometry"`
	Properties struct {
		Name  string  `json:"name"`
		Kind  string  `json:"kind"`
		Note  string  `json:"note"`
		Field *string `json:"field"`
		Left  *string `json:"left"`
		State string  `json:"state"`
	} `json:"properties"`
}

// writeGeoJSON writes a FeatureCollection (RFC 7946), a feature a line.
func writeGeoJSON(b *bufio.Writer, places []Place) error {
	b.WriteString("{\"type\":\"FeatureCollection\",\"features\":[")
	for i, p := range places {
		var f feature
		f.Type, f.Geometry.Type = "Feature", "Point"
		f.Geometry.Coordinates = [2]json.Number{json.Number(degrees(p.LonDeg)), json.Number(degrees(p.LatDeg))}
		f.Properties.Name, f.Properties.Kind, f.Properties.Note, f.Properties.State = p.Name, p.Kind, p.Note, state(p.Done)
		if p.Field != "" {
			f.Properties.Field = &p.Field
		}
		if !p.Left.IsZero() {
			left := moment(p.Left)
			f.Properties.Left = &left
		}
		text, err := json.Marshal(f)
		if err != nil {
			return fmt.Errorf("write places: %w", err)
		}
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteByte('\n')
		b.Write(text)
	}
	b.WriteString("\n]}\n")
	return nil
}
