package sim

import (
	"math"
	"math/rand/v2"
	"strconv"

	"drawbar/controller"
)

// machine is the rate controller as seen on its line.
type machine struct {
	sc     *Scenario
	ms     *meters
	g      *ground
	mail   *mail
	look   seeker
	fault  *rand.Rand
	delay  *rand.Rand
	on     controller.Sections
	widthM []float64 // fed by each tank, 0 = its meter stands
	total  []float64
	filled []float64 // total at the last filling
	fills  []float64
	tick   int
	buf    []byte
}

func newMachine(sc *Scenario, m *motion, ms *meters, g *ground, mail *mail) *machine {
	n := len(sc.Tanks)
	return &machine{
		sc: sc, ms: ms, g: g, mail: mail, look: seeker{m: m}, fills: m.fills,
		fault:  rand.New(rand.NewPCG(sc.Seed, streamReportFault)),
		delay:  rand.New(rand.NewPCG(sc.Seed, streamReport)),
		on:     controller.NewSections(len(sc.Implement.SectionsM)),
		widthM: make([]float64, n), total: make([]float64, n), filled: make([]float64, n),
	}
}

// tickS is when the next regular report is due.
func (mc *machine) tickS() float64 { return float64(mc.tick) / mc.sc.Machine.HZ }

// nextS is when the next report is due; the ground must have been driven past it.
func (mc *machine) nextS() float64 {
	t := mc.tickS()
	if mc.sc.Machine.OnChange && len(mc.g.meter) > 0 {
		t = min(t, mc.g.meter[0].meterS)
	}
	return t
}

// report makes the report due at t.
func (mc *machine) report(t float64) {
	for len(mc.g.meter) > 0 && mc.g.meter[0].meterS <= t {
		c := mc.g.meter[0]
		mc.g.meter = mc.g.meter[1:]
		switch {
		case c.section >= 0:
			mc.on.Set(c.section, c.on)
		default:
			mc.widthM[c.tank] = c.widthM
		}
	}
	for k := range mc.total {
		// The total is what has left the meter: what lies on the ground one lag
		// later.
		if q := mc.g.totals[k]; t >= mc.tickS() && len(q) > 0 {
			mc.total[k] = q[0]
			mc.g.totals[k] = q[1:]
		}
	}
	for len(mc.fills) > 0 && mc.fills[0] <= t {
		mc.fills = mc.fills[1:]
		copy(mc.filled, mc.total)
	}
	_, speed, _ := mc.look.at(t)
	tick := mc.tick
	if t < mc.tickS() {
		tick = max(0, tick-1) // the rate of the last regular report still holds
	} else {
		mc.tick++
	}
	if mc.silent(t) {
		return
	}
	if !mc.sc.Machine.OneTankALine {
		mc.head(speed)
		for k := range mc.sc.Tanks {
			mc.tank(k, tick)
		}
		mc.send(t)
		return
	}
	for k := range mc.sc.Tanks {
		mc.head(speed)
		mc.tank(k, tick)
		mc.send(t)
	}
}

func (mc *machine) silent(t float64) bool {
	for _, s := range mc.sc.Machine.Stale {
		if t >= s.FromS && t < s.FromS+s.ForS {
			return true
		}
	}
	return false
}

// head begins a line with what concerns the whole implement. Work stays 1 until
// the last meter stands, for work=0 would stop them all.
func (mc *machine) head(speedMPS float64) {
	work := mc.on.Any()
	for _, w := range mc.widthM {
		work = work || w > 0
	}
	mc.buf = append(mc.buf[:0], "work=0 sections="...)
	if work {
		mc.buf[len("work=")] = '1'
	}
	for i := range mc.on.Len() {
		if mc.on.On(i) {
			mc.buf = append(mc.buf, '1')
		} else {
			mc.buf = append(mc.buf, '0')
		}
	}
	mc.buf = append(mc.buf, " speed="...)
	mc.buf = append(strconv.AppendFloat(mc.buf, speedMPS, 'f', 2, 64), "m/s"...)
}

// tank adds what concerns one tank.
func (mc *machine) tank(k, tick int) {
	t := &mc.sc.Tanks[k]
	u := unitOf(t.Target.Dim)
	rate, speed := mc.ms.at(k, tick)
	if mc.widthM[k] == 0 {
		rate = 0
	}
	if t.PlainFlow {
		mc.value(t.Number, "flow", u.flowPerS(rate, mc.widthM[k], speed)*60, 3, u.amount, "/min")
	} else {
		mc.value(t.Number, "rate", rate*1e4, u.decimals, u.amount, "/ha")
	}
	mc.value(t.Number, "target", mc.ms.targetAt(k, float64(tick)/mc.sc.Machine.HZ)*1e4, u.decimals, u.amount, "/ha")
	if mc.sc.Machine.WithoutTotals {
		return
	}
	mc.value(t.Number, "total", mc.total[k], u.decimals, u.amount, "")
	if t.Capacity.SI > 0 {
		mc.value(t.Number, "level", max(0, t.Capacity.SI-(mc.total[k]-mc.filled[k])), u.decimals, u.amount, "")
	}
}

func (mc *machine) value(tank int, key string, v float64, decimals int, amount, per string) {
	b := append(mc.buf, " tank."...)
	b = strconv.AppendInt(b, int64(tank), 10)
	b = append(append(append(b, '.'), key...), '=')
	b = strconv.AppendFloat(b, math.Max(v, 0), 'f', decimals, 64)
	mc.buf = append(append(b, amount...), per...)
}

// send ends the line with its checksum and hands it to the mail.
func (mc *machine) send(t float64) {
	mc.buf = appendChecksum(mc.buf, 0)
	tr := &mc.g.truth.Controller
	tr.Lines++
	line, how := spoil(mc.fault, mc.sc.Machine.Damaged, mc.buf, 0, len(mc.buf)-3)
	if how == damageNone {
		tr.Good++
	} else {
		tr.Damaged++
	}
	late := mc.sc.Machine.LatencyS
	if j := mc.sc.Machine.JitterS; j > 0 {
		late += j * mc.delay.Float64()
		t = wholeMilliseconds(t + late)
	} else {
		t += late
	}
	mc.mail.post(t, StreamController, line)
}

// appendChecksum appends "*HH", the exclusive or of the bytes from first on.
func appendChecksum(b []byte, first int) []byte {
	sum := byte(0)
	for _, c := range b[first:] {
		sum ^= c
	}
	const digits = "0123456789ABCDEF"
	return append(b, '*', digits[sum>>4], digits[sum&15])
}
