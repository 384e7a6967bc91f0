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

// positionError is the error of a correction class on each axis, one standard
// deviation in metres: from fix to fix, within a pass (fading in 20 s) and over
// hours.
type positionError struct{ fixM, passM, driftM, driftFadeS float64 }

// errorOf gives each class about what is commonly reported (from memory; common
// practice): passes a quarter of an hour apart differ by 0.8 m (autonomous),
// 0.25 m (dgps) and 0.025 m (rtk) in 95 of 100 cases. From one fix to the next
// a receiver's filter leaves millimetres.
func errorOf(c Class) positionError {
	switch c {
	case ClassAutonomous:
		return positionError{0.008, 0.12, 0.90, 10_800}
	case ClassDGPS:
		return positionError{0.006, 0.04, 0.28, 10_800}
	case ClassFloat:
		return positionError{0.004, 0.02, 0.11, 3_600}
	case ClassRTK:
		return positionError{0.003, 0.005, 0.011, 3_600}
	default:
		return positionError{driftFadeS: 1}
	}
}

// passFadeS is the time constant of the error within a pass.
const passFadeS = 20

// axisError is the error along one axis.
type axisError struct {
	fixM        float64
	pass, drift wander
}

func newAxisError(rng *rand.Rand, c Class) axisError {
	e := errorOf(c)
	return axisError{
		fixM:  e.fixM,
		pass:  wander{rng: rng, sd: e.passM, fadeS: passFadeS},
		drift: wander{rng: rng, sd: e.driftM, fadeS: e.driftFadeS},
	}
}

func (a *axisError) at(t float64) float64 {
	if a.fixM == 0 {
		return 0
	}
	return a.drift.at(t) + a.pass.at(t) + a.fixM*a.pass.rng.NormFloat64()
}

// sdM is the standard deviation of the whole.
func (e positionError) sdM() float64 { return math.Hypot(e.fixM, math.Hypot(e.passM, e.driftM)) }

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
