package nmea

// text is a field as it stands in a line or as go-nmea gives it.
type text interface{ ~string | ~[]byte }

// reading says what came of a field.
type reading uint8

const (
	readingEmpty    reading = iota // nothing there
	readingGood                    // read
	readingOutside                 // well formed, but no such value exists
	readingUnlikely                // not of the form the field must have
)

const (
	secondNS = 1_000_000_000
	dayNS    = 86_400 * secondNS
)

// timeOfDay reads hhmmss or hhmmss.f with a fraction of any length, exact to
// the nanosecond; digits beyond are cut off. Second 60, the leap second, is the
// first second of the next day, so the result may reach one day and a second.
func timeOfDay[T text](f T) (ns int64, r reading) {
	if len(f) == 0 {
		return 0, readingEmpty
	}
	if len(f) < 6 || len(f) > 6 && f[6] != '.' {
		return 0, readingUnlikely
	}
	h, m, s := pair(f[0], f[1]), pair(f[2], f[3]), pair(f[4], f[5])
	if h > 23 || m > 59 || s > 60 {
		return 0, readingUnlikely
	}
	ns = (int64(h)*3600 + int64(m)*60 + int64(s)) * secondNS
	unit := int64(secondNS)
	for i := 7; i < len(f); i++ {
		d := f[i] - '0'
		if d > 9 {
			return 0, readingUnlikely
		}
		unit /= 10 // 0 after nine digits
		ns += int64(d) * unit
	}
	return ns, readingGood
}

// pair is the number of two digits, 255 if one is no digit.
func pair(tens, ones byte) uint8 {
	t, o := tens-'0', ones-'0'
	if t > 9 || o > 9 {
		return 255
	}
	return 10*t + o
}

// coordinate reads ddmm.mmmm or dddmm.mmmm with its hemisphere as degrees, the
// second letter (S, W) negative. limit is 90 or 180 degrees.
//
// The value is (60·degrees + minutes)·10^n / (60·10^n): both are integers below
// 2^53, so the one division gives the nearest float64, the same on any CPU. With
// more than 10 decimals of a minute (0.2 µm on the ground) the rest is cut off.
func coordinate[T text](value, hemisphere T, positive, negative byte, limit uint64) (deg float64, r reading) {
	if len(value) == 0 || len(hemisphere) == 0 {
		return 0, readingEmpty
	}
	if len(hemisphere) != 1 || hemisphere[0] != positive && hemisphere[0] != negative {
		return 0, readingUnlikely
	}
	var whole uint64
	i := 0
	for ; i < len(value) && value[i] != '.'; i++ {
		d := value[i] - '0'
		if d > 9 || i == 5 {
			return 0, readingUnlikely
		}
		whole = 10*whole + uint64(d)
	}
	if i == 0 {
		return 0, readingUnlikely
	}
	degrees, minutes := whole/100, whole%100
	scaled, scale := 60*degrees+minutes, uint64(60)
	for i++; i < len(value); i++ {
		d := value[i] - '0'
		if d > 9 {
			return 0, readingUnlikely
		}
		if scale < 60e10 {
			scaled = 10*scaled + uint64(d)
			scale *= 10
		}
	}
	if minutes > 59 || scaled > limit*scale {
		return 0, readingOutside
	}
	deg = float64(scaled) / float64(scale)
	if hemisphere[0] == negative && scaled != 0 {
		deg = -deg
	}
	return deg, readingGood
}

// position reads the four fields of a position. It is readingGood only if all
// of them are.
func position[T text](lat, ns, lon, ew T) (latDeg, lonDeg float64, r reading) {
	latDeg, rLat := coordinate(lat, ns, 'N', 'S', 90)
	lonDeg, rLon := coordinate(lon, ew, 'E', 'W', 180)
	if r = max(rLat, rLon); r == readingGood {
		r = min(rLat, rLon)
	}
	if r != readingGood {
		return 0, 0, r
	}
	return latDeg, lonDeg, readingGood
}

// qualityOfDigit is the quality field of GGA. A class that we do not know is a
// position of unknown class (some receivers send 9 for their own corrections).
func qualityOfDigit[T text](f T) (Quality, bool) {
	if len(f) == 0 {
		return QualityNone, true
	}
	for i := range len(f) {
		if f[i]-'0' > 9 {
			return QualityNone, false
		}
	}
	if len(f) > 1 {
		return QualityUnknown, true
	}
	switch f[0] {
	case '0':
		return QualityNone, true
	case '1':
		return QualityAutonomous, true
	case '2':
		return QualityDGNSS, true
	case '3':
		return QualityPrecise, true
	case '4':
		return QualityRTK, true
	case '5':
		return QualityFloat, true
	case '6':
		return QualityEstimated, true
	case '7':
		return QualityManual, true
	case '8':
		return QualitySimulated, true
	default:
		return QualityUnknown, true
	}
}

// qualityOfMode is the mode indicator, one letter, or in GNS one letter a
// constellation, of which the best counts. An empty mode is of unknown class:
// older RMC and GLL have none.
func qualityOfMode[T text](f T) Quality {
	if len(f) == 0 {
		return QualityUnknown
	}
	best := QualityNone
	for i := range len(f) {
		best = max(best, qualityOfLetter(f[i]))
	}
	return best
}

func qualityOfLetter(c byte) Quality {
	switch c {
	case 'N':
		return QualityNone
	case 'A':
		return QualityAutonomous
	case 'D':
		return QualityDGNSS
	case 'E':
		return QualityEstimated
	case 'F':
		return QualityFloat
	case 'M':
		return QualityManual
	case 'P':
		return QualityPrecise
	case 'R':
		return QualityRTK
	case 'S':
		return QualitySimulated
	default:
		return QualityUnknown
	}
}

// shortDate reads ddmmyy: 00 to 79 is 20yy, 80 to 99 is 19yy (GPS time begins
// in 1980). A date that does not exist is none.
func shortDate[T text](f T) (day int32, ok bool) {
	if len(f) != 6 {
		return 0, false
	}
	d, m, y := pair(f[0], f[1]), pair(f[2], f[3]), pair(f[4], f[5])
	if y > 99 {
		return 0, false
	}
	year := 2000 + int(y)
	if y >= 80 {
		year -= 100
	}
	return dayNumber(year, int(m), int(d))
}

// dayNumber counts the days after 1970-01-01 in the Gregorian calendar. Years
// outside [1980, 2199] are refused: no receiver sends them for a reason.
func dayNumber(year, month, day int) (int32, bool) {
	if year < 1980 || year > 2199 || month < 1 || month > 12 || day < 1 {
		return 0, false
	}
	leap := year%4 == 0 && (year%100 != 0 || year%400 == 0)
	before := [...]int{0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365}
	length := before[month] - before[month-1]
	if leap && month == 2 {
		length++
	}
	if day > length {
		return 0, false
	}
	y := year - 1
	days := 365*y + y/4 - y/100 + y/400 - 719162 + before[month-1] + day - 1
	if leap && month > 2 {
		days++
	}
	return int32(days), true
}
