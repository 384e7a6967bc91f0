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

// RMC once a second beside GGA ten times a second is a common setting: every epoch
// is one fix, none waits for the next epoch once that is learnt, and nothing counts
// as repeated.
func TestCompanionOnceASecond(t *testing.T) {
	t.Parallel()
	var r Reader
	at := time.Date(2026, 5, 14, 13, 5, 10, 0, time.UTC)
	line := func(body string) []byte {
		sum := byte(0)
		for i := range len(body) {
			sum ^= body[i]
		}
		return fmt.Appendf(nil, "$%s*%02X", body, sum)
	}
	fixes, prompt := 0, 0
	for i := range 200 {
		tod := fmt.Sprintf("1305%02d.%d0", i/10, i%10)
		at = at.Add(90 * time.Millisecond)
		got := len(r.Line(at, line("GPGGA,"+tod+",5318.0100674,N,00000.0272271,W,4,14,0.8,112.4,M,47.2,M,1.0,0101")))
		fixes += got
		if i > 30 {
			prompt += got
		}
		at = at.Add(10 * time.Millisecond)
		if i%10 == 0 {
			fixes += len(r.Line(at, line("GPRMC,"+tod+",A,5318.0100674,N,00000.0272271,W,4.86,0.0,140526,,,R")))
		}
	}
	fixes += len(r.Flush())
	if fixes != 200 || prompt != 169 || r.Repeated() != 0 {
		t.Errorf("got %d fixes, %d at their GGA, %d repeats; want 200, 169, 0", fixes, prompt, r.Repeated())
	}
}
