package coverage

// noise estimates by how much positions jump about from fix to fix, from third
// differences: what a machine does changes them little (on a circle of 8 m at
// 2.5 m/s and 10 fixes a second by 0.2 mm), while independent errors of variance
// σ² on each axis give 20 σ² (the squares of 1, -3, 3, -1).
type noise struct {
	at       [3]xy // the latest last
	tNS      [3]int64
	n        int
	samples  int
	variance float64 // of one axis, m2
	advanceM float64 // from fix to fix
}

const (
	noiseSamples  = 64   // the estimate follows over so many fixes
	noiseMostM    = 0.3  // more is a jump, not noise
	noiseLeastWay = 0.05 // standing shows nothing: its positions are held
)

// add takes the next position of an unbroken drive.
func (n *noise) add(tNS int64, at xy) {
	if n.n == 3 && n.even(tNS, at) {
		d := xy{
			at.x - float64(3*n.at[2].x) + float64(3*n.at[1].x) - n.at[0].x,
			at.y - float64(3*n.at[2].y) + float64(3*n.at[1].y) - n.at[0].y,
		}
		v := min(dot(d, d)/40, noiseMostM*noiseMostM)
		n.samples = min(n.samples+1, noiseSamples)
		n.variance += (v - n.variance) / float64(n.samples)
		n.advanceM += (n.at[2].to(at) - n.advanceM) / float64(n.samples)
	}
	n.at = [3]xy{n.at[1], n.at[2], at}
	n.tNS = [3]int64{n.tNS[1], n.tNS[2], tNS}
	n.n = min(n.n+1, 3)
}

// even tells whether the last four fixes follow each other evenly and on the
// move.
func (n *noise) even(tNS int64, at xy) bool {
	a, b, c := n.tNS[1]-n.tNS[0], n.tNS[2]-n.tNS[1], tNS-n.tNS[2]
	most, least := max(a, b, c), min(a, b, c)
	return most-least <= least/5 &&
		min(n.at[0].to(n.at[1]), n.at[1].to(n.at[2]), n.at[2].to(at)) >= noiseLeastWay
}

// afterBreak is the estimate alone, for a new stretch of the drive.
func (n *noise) afterBreak() noise {
	return noise{samples: n.samples, variance: n.variance, advanceM: n.advanceM}
}
