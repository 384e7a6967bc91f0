package export

import (
	"time"

	"drawbar/coverage"
	"drawbar/nmea"
)

// maxLinePoints bounds a line of the track: what is held in memory, and what a
// reader must take in at once.
const maxLinePoints = 1000

// trackLine gathers the fixes of one line: joined, and of one quality. The line
// after it begins at its last point, unless the track is broken there.
type trackLine struct {
	points     [][2]float64
	start, end time.Time
	fixes      int // of the points, those that no earlier line has
	quality    nmea.Quality
}

func (l *trackLine) add(p coverage.TrackPoint, c *collection) {
	if len(l.points) > 0 && (p.Broken || p.Quality != l.quality || len(l.points) >= maxLinePoints) {
		last := l.points[len(l.points)-1]
		l.write(c)
		l.points, l.start, l.fixes = l.points[:0], p.Time, 0
		if !p.Broken {
			l.points, l.start = append(l.points, last), l.end
		}
	}
	if len(l.points) == 0 {
		l.start = p.Time
	}
	l.points = append(l.points, [2]float64{p.LonDeg, p.LatDeg})
	l.end, l.quality = p.Time, p.Quality
	l.fixes++
}

// write writes the line in hand, if there is one.
func (l *trackLine) write(c *collection) {
	if len(l.points) == 0 {
		return
	}
	c.feature(
		func(dst []byte) []byte {
			dst = appendTime(append(dst, `{"start":`...), l.start)
			dst = appendTime(append(dst, `,"end":`...), l.end)
			dst = appendString(append(dst, `,"quality":`...), l.quality.String())
			return append(appendInt(append(dst, `,"fixes":`...), l.fixes), '}')
		},
		func(dst []byte) []byte { return appendLine(dst, l.points) })
}
