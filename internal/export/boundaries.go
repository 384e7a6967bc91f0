package export

import (
	"fmt"
	"os"

	"drawbar/internal/boundary"
	"drawbar/internal/whole"
)

// Boundaries writes fields as one GeoJSON file with their names, the area of each
// in m2 beside it. The folder must exist; a file of that name is replaced.
func Boundaries(path string, fields []boundary.Field) error {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return fmt.Errorf("write %s: it is a folder; name a file", path)
	}
	f, err := whole.Create(path, fileMode)
	if err != nil {
		return err
	}
	defer f.Discard()
	c := newCollection(f, "fields")
	for i := range fields {
		c.boundary(&fields[i])
	}
	if err := c.close(); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return f.Commit()
}

func (c *collection) boundary(f *boundary.Field) {
	c.feature(
		func(dst []byte) []byte {
			dst = appendName(append(dst, `{"name":`...), f.Name)
			dst = appendNumber(append(dst, `,"area_m2":`...), f.AreaM2)
			return append(dst, '}')
		},
		func(dst []byte) []byte {
			polygons := make([]polygon, len(f.Outline))
			for i, p := range f.Outline {
				for _, r := range p {
					corners := make(ring, len(r))
					for k, q := range r {
						corners[k] = q
					}
					polygons[i] = append(polygons[i], corners)
				}
			}
			return appendPolygons(dst, polygons)
		})
}
