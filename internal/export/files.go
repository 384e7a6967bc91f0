package export

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"drawbar/coverage"
	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
	"drawbar/internal/whole"
)

// fileMode is that of every result.
const fileMode = 0o644

// Files writes the results of a session into a folder:
//
//	summary.json      the summary
//	swaths.geojson    the ground each section passed over while nothing changed
//	covered.geojson   ground treated at least once, by operation
//	overlap.geojson   ground treated more than once, by operation and cause
//	skips.geojson     ground missed, skip by skip, those closed since included
//	track.geojson     where the antenna was
//	marks.geojson     points that the operator left
//
// Swaths and track go to the disk as they come, so a long day needs no more
// memory than a short one. No file takes its name before Finish, and
// summary.json does so last. The bytes depend on the results alone.
type Files struct {
	dir           string
	swathFile     *whole.File
	trackFile     *whole.File
	swaths, track *collection
	line          trackLine
}

// Open begins the files in dir, which is made if it is not there. Either Finish
// or Discard must be called.
func Open(dir string) (*Files, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("make folder %s: %w", dir, err)
	}
	f := &Files{dir: dir}
	var err error
	if f.swathFile, err = whole.Create(filepath.Join(dir, "swaths.geojson"), fileMode); err != nil {
		return nil, err
	}
	if f.trackFile, err = whole.Create(filepath.Join(dir, "track.geojson"), fileMode); err != nil {
		f.swathFile.Discard()
		return nil, err
	}
	f.swaths = newCollection(f.swathFile, "swaths")
	f.track = newCollection(f.trackFile, "track")
	return f, nil
}

// Swath writes one swath. It keeps nothing of it.
func (f *Files) Swath(s coverage.Swath) {
	f.swaths.feature(
		func(dst []byte) []byte { return appendSwathProperties(dst, s) },
		func(dst []byte) []byte {
			polygons := make([]polygon, len(s.Rings))
			for i, r := range s.Rings {
				polygons[i] = polygon{onEarth(s.Plane, r)}
			}
			return appendPolygons(dst, polygons)
		})
}

// Fix writes the next point of the track.
func (f *Files) Fix(p coverage.TrackPoint) { f.line.add(p, f.track) }

// Err is the first error of writing so far; Finish returns it too.
func (f *Files) Err() error { return errors.Join(f.swaths.err, f.track.err) }

// Finish writes the results that are known at the end (summary is the text of
// summary.json) and gives every file its name.
func (f *Files) Finish(summary []byte, operations []*coverage.Operation, marks []coverage.Mark) error {
	defer f.Discard()
	f.line.write(f.track)
	if err := f.closeStreams(); err != nil {
		return err
	}
	for _, w := range []struct {
		name string
		fill func(*collection)
	}{
		{"covered", func(c *collection) { writeCovered(c, operations) }},
		{"overlap", func(c *collection) { writeOverlap(c, operations) }},
		{"skips", func(c *collection) { writeSkips(c, operations) }},
		{"marks", func(c *collection) { writeMarks(c, marks) }},
	} {
		if err := writeCollection(f.dir, w.name, w.fill); err != nil {
			return err
		}
	}
	return whole.Write(filepath.Join(f.dir, "summary.json"), fileMode, func(w io.Writer) error {
		_, err := w.Write(summary)
		return err
	})
}

func (f *Files) closeStreams() error {
	for _, s := range []struct {
		c    *collection
		file *whole.File
	}{{f.swaths, f.swathFile}, {f.track, f.trackFile}} {
		if err := s.c.close(); err != nil {
			return fmt.Errorf("write %s: %w", s.file.Path(), err)
		}
		if err := s.file.Commit(); err != nil {
			return err
		}
	}
	return nil
}

// Discard removes what was begun and not finished.
func (f *Files) Discard() {
	f.swathFile.Discard()
	f.trackFile.Discard()
}

func writeCollection(dir, name string, fill func(*collection)) error {
	out, err := whole.Create(filepath.Join(dir, name+".geojson"), fileMode)
	if err != nil {
		return err
	}
	defer out.Discard()
	c := newCollection(out, name)
	fill(c)
	if err := c.close(); err != nil {
		return fmt.Errorf("write %s: %w", out.Path(), err)
	}
	return out.Commit()
}

func appendSwathProperties(dst []byte, s coverage.Swath) []byte {
	dst = appendTime(append(dst, `{"start":`...), s.Start)
	dst = appendTime(append(dst, `,"end":`...), s.End)
	dst = appendInt(append(dst, `,"section":`...), s.Section)
	dst = appendInt(append(dst, `,"operation":`...), s.Number)
	dst = appendName(append(dst, `,"field":`...), s.Operation.Field)
	dst = append(dst, `,"tanks":[`...)
	for i, t := range s.Tanks {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = appendInt(append(dst, `{"tank":`...), t.Tank)
		dst = appendName(append(dst, `,"product":`...), t.Product)
		dst = appendName(append(dst, `,"unit":`...), t.Unit)
		dst = appendMaybe(append(dst, `,"rate":`...), t.RatePerM2, t.HasRate)
		dst = appendMaybe(append(dst, `,"target":`...), t.TargetPerM2, t.HasTarget)
		dst = append(dst, '}')
	}
	return append(dst, "]}"...)
}

// writeSkips writes the skips of each operation in the order in which they arose.
func writeSkips(c *collection, operations []*coverage.Operation) {
	for i, op := range operations {
		for _, k := range op.Skips() {
			c.feature(
				func(dst []byte) []byte {
					dst = appendOperation(dst, i+1, op)
					dst = appendNumber(append(dst, `,"area_m2":`...), k.AreaM2)
					dst = appendNumber(append(dst, `,"width_m":`...), k.WidthM)
					dst = appendNumber(append(dst, `,"length_m":`...), k.LengthM)
					dst = appendDegrees(append(dst, `,"lon":`...), k.LonDeg)
					dst = appendDegrees(append(dst, `,"lat":`...), k.LatDeg)
					dst = appendString(append(dst, `,"state":`...), k.State.String())
					dst = appendTime(append(dst, `,"since":`...), k.Since)
					dst = append(dst, `,"closed":`...)
					if k.State != coverage.SkipClosed {
						return append(dst, "null}"...)
					}
					return append(appendTime(dst, k.Closed), '}')
				},
				func(dst []byte) []byte { return appendPolygons(dst, onEarthAll(op.Plane, k.Outline())) })
		}
	}
}

func writeMarks(c *collection, marks []coverage.Mark) {
	for _, m := range marks {
		c.feature(
			func(dst []byte) []byte {
				dst = appendString(append(dst, `{"kind":`...), m.Kind)
				dst = appendString(append(dst, `,"note":`...), m.Note)
				return append(appendTime(append(dst, `,"time":`...), m.Time), '}')
			},
			func(dst []byte) []byte {
				if !m.Known {
					return append(dst, "null"...)
				}
				return appendPoint(dst, [2]float64{m.LonDeg, m.LatDeg})
			})
	}
}

func onEarth(p *plane.Plane, corners []plane.Coord) ring {
	r := make(ring, len(corners))
	for i, c := range corners {
		lat, lon := p.InverseCoord(c)
		r[i] = [2]float64{lon, lat}
	}
	return r
}

func onEarthAll(p *plane.Plane, pieces []ground.Polygon) []polygon {
	polygons := make([]polygon, len(pieces))
	for i, piece := range pieces {
		for _, r := range piece {
			polygons[i] = append(polygons[i], onEarth(p, r))
		}
	}
	return polygons
}
