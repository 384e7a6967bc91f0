package sim

import (
	"math"
	"math/rand/v2"
)

// Each part of the simulation draws from a stream of its own, so that asking
// for a fault in one does not change another.
const (
	streamSpeed uint64 = iota + 1
	streamSwitch
	streamPosition
	streamArrival
	streamGNSSFault
	streamReport
	streamReportFault
	streamField
	streamTank // plus the tank's number
)

// wander is a first-order Gauss-Markov process: what it is now fades with a time
// constant while noise keeps its standard deviation.
type wander struct {
	rng    *rand.Rand
	sd     float64
	fadeS  float64
	value  float64
	t      float64
	primed bool
}

func (w *wander) at(t float64) float64 {
	if w.sd == 0 {
		return 0
	}
	if !w.primed {
		w.value, w.primed = w.sd*w.rng.NormFloat64(), true
	} else {
		k := math.Exp(-(t - w.t) / w.fadeS)
		w.value = w.value*k + w.sd*math.Sqrt(1-k*k)*w.rng.NormFloat64()
	}
	w.t = t
	return w.value
}

// errorOf is the position error of a correction class on each axis: white noise
// and drift, one standard deviation in metres, and the drift's time constant.
// Passes a quarter of an hour apart differ by about 0.8 m (autonomous), 0.25 m
// (dgps) and 0.025 m (rtk) in 95 of 100 cases, which is the order of what is
// commonly reported (from memory; common practice).
func errorOf(c Class) (whiteM, driftM, fadeS float64) {
	switch c {
	case ClassAutonomous:
		return 0.10, 0.95, 10_800
	case ClassDGPS:
		return 0.03, 0.30, 10_800
	case ClassFloat:
		return 0.02, 0.12, 3_600
	case ClassRTK:
		return 0.005, 0.012, 3_600
	default:
		return 0, 0, 1
	}
}

// damage is what happened to a line on its way.
type damage uint8

const (
	damageNone  damage = iota
	damageFlip         // one character changed
	damageCut          // an end is missing
	damageNoise        // binary noise in front
)

// spoil changes a line with the given probability and says how. first and last
// bound the characters that may change: between the checksum's marks, so that
// the checksum shows it.
func spoil(rng *rand.Rand, share float64, line []byte, first, last int) ([]byte, damage) {
	if share <= 0 || rng.Float64() >= share || last-first < 4 {
		return line, damageNone
	}
	switch damage(1 + rng.IntN(3)) {
	case damageFlip:
		i := first + rng.IntN(last-first)
		was := line[i]
		for line[i] == was {
			line[i] = byte('0' + rng.IntN(10))
		}
		return line, damageFlip
	case damageCut:
		// The front is lost, as when listening starts in mid-line.
		return line[first+1+rng.IntN(last-first-1):], damageCut
	default:
		n := 1 + rng.IntN(12)
		noisy := make([]byte, n, n+len(line))
		for i := range noisy {
			for noisy[i] = 0; noisy[i] == 0 || noisy[i] == '\n' || noisy[i] == '\r' || noisy[i] == '#'; {
				noisy[i] = byte(rng.IntN(256))
			}
		}
		return append(noisy, line...), damageNoise
	}
}
