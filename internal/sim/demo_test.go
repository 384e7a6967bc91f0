package sim

import (
	"fmt"
	"testing"
	"time"
)

func TestProbe(t *testing.T) {
	for _, sc := range []Scenario{Demo(1), Meadow(1), Day(1)} {
		n := 0
		begin := time.Now()
		tr, err := Run(sc, func(at time.Time, s string, l []byte) error { n += len(l) + 26 + len(s); return nil })
		if err != nil {
			t.Fatal(err)
		}
		d := tr.End.Sub(tr.Start)
		fmt.Println(sc.Field.Name, *tr.FieldM2, tr.GrossM2, tr.Tanks, d, n, tr.Refills, tr.Passes, tr.WorkingS, tr.WorkingDistanceM, len(tr.Switches), tr.Plugged, tr.GNSS, tr.Controller, d.Seconds()/time.Since(begin).Seconds())
	}
	for i := range 5 {
		sc := RandomField(uint64(i))
		tr := quiet(t, sc)
		fmt.Println(i, sc.Implement, sc.Control, *tr.FieldM2, tr.GrossM2, tr.Passes, tr.End.Sub(tr.Start))
	}
}
