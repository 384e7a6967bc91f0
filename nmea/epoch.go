package nmea

import "time"

// epoch is what is known so far of one epoch.
type epoch struct {
	fix       Fix // Time is set at the end
	loose     loose
	todNS     int64
	timed     bool // todNS is set: a position sentence with a time has come
	placed    bool // fix has a position, from bestKind
	leveled   bool // fix has its accuracy fields, from levelKind
	done      bool // the fix has been handed out
	late      bool // a position sentence of a new kind came after that
	bestKind  kind
	levelKind kind
	level     Quality
	voids     uint8 // position sentences without a time
}

// add takes a position sentence, valid or void.
func (e *epoch) add(s *sentence) {
	f := &e.fix
	if s.kind == kindRMC {
		fillMotion(f, s.has, s.speedMPS, s.courseDeg)
	}
	if s.has&hasPosition == 0 {
		return
	}
	if !e.placed || better(s, f.Quality, e.bestKind) {
		f.LatDeg, f.LonDeg, f.Quality = s.latDeg, s.lonDeg, s.quality
		e.placed, e.bestKind = true, s.kind
	}
	if (s.kind == kindGGA || s.kind == kindGNS) && (!e.leveled || better(s, e.level, e.levelKind)) {
		const fields = HasAltitude | HasHDOP | HasSatellites | HasCorrection
		f.AltitudeM, f.HDOP, f.Satellites, f.CorrectionAgeS = s.altitudeM, s.hdop, s.satellites, s.correctionS
		f.Has = f.Has&^fields | s.has&fields
		e.leveled, e.level, e.levelKind = true, s.quality, s.kind
	}
}

// better tells whether a position comes before one of quality q and kind k: by
// quality, then GGA, GNS, RMC, GLL, then the first.
func better(s *sentence, q Quality, k kind) bool {
	return s.quality > q || s.quality == q && s.kind < k
}

// finished is the fix with all that the epoch gathered.
func (e *epoch) finished() Fix {
	f := e.fix
	l := &e.loose
	fillMotion(&f, l.has, l.speedMPS, l.courseDeg)
	if l.has&HasHeading != 0 {
		f.HeadingDeg = l.headingDeg
		f.Has |= HasHeading
	}
	if l.has&HasDeviation != 0 {
		f.LatDeviationM, f.LonDeviationM = l.latDeviationM, l.lonDeviationM
		f.Has |= HasDeviation
	}
	return f
}

// fillMotion sets speed and course where they are not known yet.
func fillMotion(f *Fix, has Has, speedMPS, courseDeg float64) {
	if has &^= f.Has; has&HasSpeed != 0 {
		f.SpeedMPS = speedMPS
		f.Has |= HasSpeed
	}
	if has&HasCourse != 0 {
		f.CourseDeg = courseDeg
		f.Has |= HasCourse
	}
}

// loose is what sentences said that carry no position (VTG, GST, HDT, THS). They
// belong to the epoch they arrive in.
type loose struct {
	speedMPS      float64
	courseDeg     float64
	headingDeg    float64
	latDeviationM float64
	lonDeviationM float64
	has           Has
}

// set takes a sentence over what was there.
func (l *loose) set(s *sentence) {
	switch s.kind {
	case kindVTG:
		l.has = l.has&^(HasSpeed|HasCourse) | s.has
		l.speedMPS, l.courseDeg = s.speedMPS, s.courseDeg
	case kindHDT, kindTHS:
		if s.has&HasHeading != 0 {
			l.headingDeg = s.headingDeg
			l.has |= HasHeading
		}
	case kindGST:
		if s.has&HasDeviation != 0 {
			l.latDeviationM, l.lonDeviationM = s.latDeviationM, s.lonDeviationM
			l.has |= HasDeviation
		}
	}
}

// drop forgets what a sentence of kind k said.
func (l *loose) drop(k kind) {
	switch k {
	case kindHDT, kindTHS:
		l.has &^= HasHeading
	case kindGST:
		l.has &^= HasDeviation
	}
}

// fill takes from a later part of the epoch what is not known yet.
func (l *loose) fill(later *loose) {
	has := later.has &^ l.has
	if has&HasSpeed != 0 {
		l.speedMPS = later.speedMPS
	}
	if has&HasCourse != 0 {
		l.courseDeg = later.courseDeg
	}
	if has&HasHeading != 0 {
		l.headingDeg = later.headingDeg
	}
	if has&HasDeviation != 0 {
		l.latDeviationM, l.lonDeviationM = later.latDeviationM, later.lonDeviationM
	}
	l.has |= has
}

// tail is what has arrived after the last position sentence that had a time,
// since the line was quiet longest.
type tail struct {
	arrival time.Time     // of its first sentence
	pause   time.Duration // before its first sentence
	loose   loose
	counts  keyCounts
	before  key // the sentence before it
	seen    [16]source
	n       int // sources in seen; 0: there is no tail
	void    bool
}

// source tells sentences of one kind from several devices apart.
type source struct {
	talker [2]byte
	kind   kind
}

func (t *tail) has(s *sentence) bool {
	for _, have := range t.seen[:t.n] {
		if have == (source{s.talker, s.kind}) {
			return true
		}
	}
	return false
}

// restart makes s the first of the tail. What was said stays.
func (t *tail) restart(at time.Time, pause time.Duration, before key) {
	t.arrival, t.pause, t.before = at, pause, before
	t.n, t.counts, t.void = 0, keyCounts{}, false
}

func (t *tail) add(s *sentence) {
	if t.n < len(t.seen) {
		t.seen[t.n] = source{s.talker, s.kind}
		t.n++
	}
	t.counts.add(s.kind)
	t.void = t.void || s.kind.position()
	t.loose.set(s)
}
