package locate

import (
	"fmt"
	"math"
	"math/rand"
	"testing"
	"time"

	"drawbar/coverage"
	"drawbar/coverage/plane"
)

// country is fields of some 60 corners, 250 m wide, with tracks of 20 m between
// them, a square of them around the farm.
func country(n int) []Field {
	side := int(math.Ceil(math.Sqrt(float64(n))))
	chance := rand.New(rand.NewSource(2))
	var fields []Field
	for i := range n {
		x, y := float64(i%side)*270, float64(i/side)*270
		var ring [][2]float64
		for k := range 60 {
			// along the sides of a square, each corner up to 2 m inwards
			at, w := float64(k)/15, 250.0
			f := math.Mod(at, 1) * w
			d := chance.Float64() * 2
			c := [4][2]float64{{f, d}, {w - d, f}, {w - f, w - d}, {d, w - f}}[int(at)]
			ring = append(ring, [2]float64{x + c[0], y + c[1]})
		}
		fields = append(fields, Field{fmt.Sprintf("field %d", i), coverage.Boundary{{onEarth(farmPlane, ring)}}})
	}
	return fields
}

// A fix of a machine that works up and down a field and goes on to the next.
func BenchmarkStep(b *testing.B) {
	for _, n := range []int{10, 1_000, 10_000} {
		b.Run(fmt.Sprintf("fields=%d", n), func(b *testing.B) {
			ix, err := NewIndex(country(n))
			if err != nil {
				b.Fatal(err)
			}
			var fixes []Fix
			side := math.Ceil(math.Sqrt(float64(n))) * 270
			p := plane.New(originLat, originLon)
			x, y, course := side/2, side/2, 0.0
			for i := range 20_000 {
				if i%1000 == 999 { // 250 m
					course = math.Mod(course+90+7, 360)
				}
				s, c := math.Sincos(course * math.Pi / 180)
				x, y = x+0.25*s, y+0.25*c
				lat, lon := p.Inverse(x, y)
				fixes = append(fixes, Fix{
					Time: begin.Add(time.Duration(i) * 100 * time.Millisecond), LatDeg: lat, LonDeg: lon,
					SpeedMPS: 2.5, CourseDeg: course, HasSpeed: true, HasCourse: true, HalfBarM: 9, Work: "field 0",
				})
			}
			l := New(ix)
			b.ReportAllocs()
			i, offers := 0, 0
			for b.Loop() {
				if i == len(fixes) {
					i = 0
					*l = *New(ix)
				}
				if l.Step(fixes[i]).Offer.OK {
					offers++
				}
				i++
			}
			if offers == 0 && i > 2000 {
				b.Error("nothing was offered")
			}
		})
	}
}

func BenchmarkNewIndex(b *testing.B) {
	for _, n := range []int{1_000, 10_000} {
		b.Run(fmt.Sprintf("fields=%d", n), func(b *testing.B) {
			fields := country(n)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := NewIndex(fields); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
