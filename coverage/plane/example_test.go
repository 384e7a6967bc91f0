package plane_test

import (
	"fmt"

	"drawbar/coverage/plane"
)

// A fix on the grid of a field's plane, and back to degrees: the 0.1 mm step
// shows in the ninth decimal.
func ExamplePlane() {
	p := plane.New(53.3, -0.02)
	c, ok := p.ForwardCoord(53.301, -0.019)
	x, y := c.M()
	fmt.Printf("%.4f m east, %.4f m north, %t\n", x, y, ok)
	lat, lon := p.InverseCoord(c)
	fmt.Printf("%.8f %.8f\n", lat, lon)
	// Output:
	// 66.6694 m east, 111.2924 m north, true
	// 53.30100000 -0.01900000
}
