package ground_test

import (
	"fmt"

	"drawbar/coverage/ground"
	"drawbar/coverage/plane"
)

func Example() {
	corner := func(x, y int64) plane.Coord {
		return plane.Coord{X: x * plane.UnitsPerM, Y: y * plane.UnitsPerM}
	}
	s := ground.New()
	// A 12 m bar goes 100 m north, then 100 m south again 11 m beside.
	s.Add(ground.Quad{corner(0, 0), corner(12, 0), corner(12, 100), corner(0, 100)})
	_, again := s.Add(ground.Quad{corner(23, 100), corner(11, 100), corner(11, 0), corner(23, 0)})
	fmt.Printf("covered %.1f m2, gross %.1f m2, overlap %.1f m2\n", s.Covered().M2(), s.Gross().M2(), again.M2())
	fmt.Println(len(s.Outline(1)), "piece")
	// Output:
	// covered 2300.0 m2, gross 2400.0 m2, overlap 100.0 m2
	// 1 piece
}
