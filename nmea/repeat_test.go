package nmea

import (
	"fmt"
	"testing"
	"time"
)

// A receiver that sends an epoch again makes no second fix of it; the repeat is
// counted.
func TestRepeatedEpoch(t *testing.T) {
	t.Parallel()
	var r Reader
	at := time.Date(2026, 5, 14, 13, 5, 10, 0, time.UTC)
	gga := func(s int) []byte {
		body := fmt.Sprintf("GPGGA,1305%02d.00,5318.0100674,N,00000.0272271,W,4,14,0.8,112.4,M,47.2,M,1.0,0101", s)
		sum := byte(0)
		for i := range len(body) {
			sum ^= body[i]
		}
		return fmt.Appendf(nil, "$%s*%02X", body, sum)
	}
	fixes := 0
	for i := range 20 {
		s := i
		if i == 12 {
			s = 10 // sent two epochs ago
		}
		at = at.Add(time.Second)
		fixes += len(r.Line(at, gga(s)))
	}
	fixes += len(r.Flush())
	if fixes != 19 || r.Repeated() != 1 {
		t.Errorf("got %d fixes and %d repeats, want 19 and 1", fixes, r.Repeated())
	}
}
