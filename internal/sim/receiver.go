package sim

import (
	"math"
	"math/rand/v2"
	"time"

	"drawbar/coverage/plane"
)

// receiver is the GNSS receiver on the tractor.
type receiver struct {
	sc          *Scenario
	mail        *mail
	truth       *Truth
	plane       *plane.Plane
	look        seeker
	pos         *rand.Rand // white noise
	delay       *rand.Rand
	fault       *rand.Rand
	east, north axisError
	w           writer
	k           int // next epoch
	before      [][]byte
	now         [][]byte
	jumps       []bool
}

func newReceiver(sc *Scenario, m *motion, mail *mail, truth *Truth) *receiver {
	r := &receiver{
		sc: sc, mail: mail, truth: truth, look: seeker{m: m},
		plane: plane.New(sc.Field.LatDeg, sc.Field.LonDeg),
		pos:   rand.New(rand.NewPCG(sc.Seed, streamPosition)),
		delay: rand.New(rand.NewPCG(sc.Seed, streamArrival)),
		fault: rand.New(rand.NewPCG(sc.Seed, streamGNSSFault)),
		jumps: make([]bool, len(sc.Receiver.Jumps)),
	}
	r.east = newAxisError(r.pos, sc.Receiver.Class)
	r.north = r.east
	r.w = writer{talker: sc.Receiver.Talker, posDecimals: sc.Receiver.PositionDecimals, timeDecimals: 2}
	if r.w.posDecimals == 0 {
		r.w.posDecimals = 8
	}
	if hz := sc.Receiver.HZ; math.Abs(100/hz-math.Round(100/hz)) > 1e-9 {
		r.w.timeDecimals = 3
	}
	return r
}

// nextS is when the next epoch is: on the grid of the rate from the start, at
// whole milliseconds.
func (r *receiver) nextS() float64 { return math.Round(float64(r.k)/r.sc.Receiver.HZ*1000) / 1000 }

// standstillMPS is the speed below which a receiver knows no course.
const standstillMPS = 0.05

// epochNow works out what the receiver makes of its place.
func (r *receiver) epochNow(t float64) epoch {
	at, nose, v := r.look.truePose(t)
	east, north := r.east.at(t), r.north.at(t)
	for i, j := range r.sc.Receiver.Jumps {
		if !r.jumps[i] && t >= j.AtS {
			r.jumps[i] = true
			east, north = east+j.EastM, north+j.NorthM
			r.truth.GNSS.Jumps++
		}
	}
	e := epoch{
		at: stamp(r.sc.Start, t), class: r.sc.Receiver.Class, valid: true,
		speedMPS: math.Abs(v), moving: math.Abs(v) >= standstillMPS, sdM: errorOf(r.sc.Receiver.Class).sdM(),
	}
	e.latDeg, e.lonDeg = r.plane.Inverse(at.X+east, at.Y+north)
	// Grid heading to true heading.
	bearing := 90 - (nose-r.plane.Convergence(e.latDeg, e.lonDeg))*180/math.Pi
	e.headingDeg, e.courseDeg = bearing, bearing
	if v < 0 {
		e.courseDeg += 180
	}
	if r.sc.Receiver.Class != ClassPerfect {
		// What a receiver's Doppler speed and a heading of two antennas carry
		// (common practice, no source).
		e.speedMPS = math.Abs(e.speedMPS + 0.02*r.pos.NormFloat64())
		e.headingDeg += 0.15 * r.pos.NormFloat64()
		e.courseDeg += 0.01 / math.Max(math.Abs(v), standstillMPS) * r.pos.NormFloat64() * 180 / math.Pi
	}
	return e
}

// send makes and sends the epoch due at t.
func (r *receiver) send(t float64) {
	k := r.k
	r.k++
	e := r.epochNow(t)
	for _, o := range r.sc.Receiver.Outages {
		if t < o.FromS || t >= o.FromS+o.ForS {
			continue
		}
		if !o.Empty {
			return
		}
		e.valid = false
	}
	r.before, r.now = r.now, r.before
	n := 0
	for _, s := range r.sc.Receiver.Sentences {
		if s.Every > 1 && k%s.Every != 0 {
			continue
		}
		if n == len(r.now) {
			r.now = append(r.now, nil)
		}
		r.now[n] = r.w.sentence(r.now[n][:0], s.Formatter, &e)
		n++
	}
	r.now = r.now[:n]
	if e.valid {
		r.truth.GNSS.Epochs++
	}
	at := t + r.sc.Receiver.LatencyS
	if j := r.sc.Receiver.JitterS; j > 0 {
		at += j * r.delay.Float64()
	}
	at = r.post(at, r.now)
	if r.happens(r.sc.Receiver.Repeated) {
		r.truth.GNSS.Repeated++
		at = r.post(at, r.now)
	}
	if len(r.before) > 0 && r.happens(r.sc.Receiver.Backward) {
		r.truth.GNSS.Backward++
		r.post(at, r.before)
	}
}

func (r *receiver) happens(share float64) bool { return share > 0 && r.fault.Float64() < share }

// post sends sentences one after the other; the first arrives at at.
func (r *receiver) post(at float64, sentences [][]byte) (after float64) {
	tr := &r.truth.GNSS
	var scratch [256]byte
	for _, s := range sentences {
		s = append(scratch[:0], s...)
		line, how := spoil(r.fault, r.sc.Receiver.Damaged, s, 1, len(s)-3)
		tr.Lines++
		switch how {
		case damageFlip:
			tr.Flipped++
		case damageCut:
			tr.Cut++
		case damageNoise:
			tr.NoiseBefore++
			tr.Good++
		default:
			tr.Good++
		}
		arrived := at
		if r.sc.Receiver.JitterS > 0 {
			arrived = wholeMilliseconds(at)
		}
		r.mail.post(arrived, StreamGNSS, line)
		if r.sc.Receiver.Baud > 0 {
			// Ten bits a byte, CR LF included.
			at += float64(len(line)+2) * 10 / r.sc.Receiver.Baud
		}
	}
	return at
}

// stamp is a time from the start as UTC, to the microsecond.
func stamp(start time.Time, s float64) time.Time {
	return start.UTC().Add(time.Duration(math.Round(s*1e6)) * time.Microsecond)
}
