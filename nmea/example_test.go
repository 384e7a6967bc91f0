package nmea_test

import (
	"fmt"
	"time"

	"drawbar/nmea"
)

// The bytes of a receiver become fixes. Here they come in one piece; from a
// port they come in any pieces.
func Example() {
	port := []byte("$GPGGA,130510.20,5324.1234,N,00004.5678,W,4,17,0.7,101.2,M,47.1,M,1.0,0133*5C\r\n" +
		"$GPRMC,130510.20,A,5324.1234,N,00004.5678,W,4.3,92.5,140526,,,R*6A\r\n")

	var (
		splitter nmea.Splitter
		reader   nmea.Reader
	)
	show := func(fixes []nmea.Fix) {
		for _, f := range fixes {
			fmt.Printf("%s %.6f %.6f %v %.2f m/s\n", f.Time.Format(time.RFC3339Nano), f.LatDeg, f.LonDeg, f.Quality, f.SpeedMPS)
		}
	}
	arrival := time.Date(2026, 5, 14, 13, 5, 10, 260_000_000, time.UTC)
	splitter.Push(port, func(line []byte) { show(reader.Line(arrival, line)) })
	show(reader.Flush())

	for _, c := range reader.Tally().Counts() {
		fmt.Println(c.Formatter, c.Result, c.N)
	}
	// Output:
	// 2026-05-14T13:05:10.2Z 53.402057 -0.076130 rtk 2.21 m/s
	// GGA used 1
	// RMC used 1
}
