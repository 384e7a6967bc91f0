package sim

import (
	"math"
	"math/rand/v2"

	"drawbar/controller"
)

// meters is what each tank's meter does: a rate that holds from one report to
// the next and is a round number of the unit reported, so that a report says
// exactly what was metered.
type meters struct {
	sc      *Scenario
	look    seeker
	tanks   []meter
	targets []timedTarget
}

type timedTarget struct {
	atS    float64
	tank   int
	rateM2 float64
}

// meter is one tank's rates of the last reports. Report j is made at j/HZ.
type meter struct {
	rng   *rand.Rand
	rate  [meterRing]float64 // per m2
	speed [meterRing]float64 // m/s at the report
	count int                // rates made so far
}

// meterRing holds more reports than the longest lag spans at 20 Hz.
const meterRing = 4096

func newMeters(sc *Scenario, m *motion, targets []timedTarget) *meters {
	ms := &meters{sc: sc, look: seeker{m: m}, targets: targets, tanks: make([]meter, len(sc.Tanks))}
	for i, t := range sc.Tanks {
		ms.tanks[i].rng = rand.New(rand.NewPCG(sc.Seed, streamTank+uint64(t.Number)))
	}
	return ms
}

// targetAt is the target of a tank, per m2.
func (ms *meters) targetAt(tank int, t float64) float64 {
	target := ms.sc.Tanks[tank].Target.SI
	for _, c := range ms.targets {
		if c.atS <= t && c.tank == ms.sc.Tanks[tank].Number {
			target = c.rateM2
		}
	}
	return target
}

// at is the rate (per m2) and the speed (m/s) of a tank's report j. Reports may be asked for again
// within the ring.
func (ms *meters) at(tank, j int) (ratePerM2, speedMPS float64) {
	m := &ms.tanks[tank]
	u := unitOf(ms.sc.Tanks[tank].Target.Dim)
	for ; m.count <= j; m.count++ {
		t := float64(m.count) / ms.sc.Machine.HZ
		r := ms.targetAt(tank, t)
		if sd := ms.sc.Tanks[tank].RateNoise; sd > 0 {
			r *= 1 + sd*min(4, max(-4, m.rng.NormFloat64()))
		}
		_, v, _ := ms.look.at(t)
		m.rate[m.count%meterRing], m.speed[m.count%meterRing] = u.rounded(max(0, r)*1e4)/1e4, v
	}
	return m.rate[j%meterRing], m.speed[j%meterRing]
}

// flowPerS is the flow that a tank reports for a rate over a width at a speed.
func (u unit) flowPerS(ratePerM2, widthM, speedMPS float64) float64 {
	return math.Round(ratePerM2*widthM*speedMPS*60*1000) / 60_000
}

// unit is how an amount is written: per hectare for rates, per minute for
// flows.
type unit struct {
	amount   string
	decimals int
}

// unitOf is the unit for a rate's dimension.
func unitOf(rate controller.Dim) unit {
	switch rate {
	case controller.DimVolumePerArea:
		return unit{"l", 1}
	case controller.DimCountPerArea:
		return unit{"seeds", 0}
	default:
		return unit{"kg", 1}
	}
}

func (u unit) rounded(v float64) float64 {
	k := math.Pow10(u.decimals)
	return math.Round(v*k) / k
}
