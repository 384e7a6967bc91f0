package sim

import (
	"math"
	"strconv"
	"strings"
	"time"
)

// formatters are the sentences that the receiver can send.
const formatters = "GGA GNS RMC VTG ZDA GST HDT THS GLL"

func knownFormatter(f string) bool {
	return len(f) == 3 && strings.Contains(" "+formatters+" ", " "+f+" ")
}

// epoch is what the receiver knows at one moment.
type epoch struct {
	at         time.Time // UTC
	latDeg     float64
	lonDeg     float64
	speedMPS   float64
	courseDeg  float64
	headingDeg float64
	sdM        float64 // of latitude and longitude
	class      Class
	moving     bool // course is known
	valid      bool // position is known
}

// quality is the GGA quality digit and the mode letter of a class (NMEA 0183:
// 1 A autonomous, 2 D differential, 4 R RTK fixed, 5 F RTK float).
func (c Class) quality() (digit, mode byte) {
	switch c {
	case ClassAutonomous:
		return '1', 'A'
	case ClassDGPS:
		return '2', 'D'
	case ClassFloat:
		return '5', 'F'
	default:
		return '4', 'R'
	}
}

// writer lays out sentences for one receiver.
type writer struct {
	talker       string
	posDecimals  int
	timeDecimals int
}

// sentence appends one sentence without its line end.
func (w *writer) sentence(b []byte, f string, e *epoch) []byte {
	start := len(b)
	b = append(append(append(b, '$'), w.talker...), f...)
	digit, mode := e.class.quality()
	if !e.valid {
		digit, mode = '0', 'N'
	}
	switch f {
	case "GGA":
		b = w.position(w.time(append(b, ','), e), e)
		b = append(b, ',', digit)
		if e.valid {
			b = append(b, ",14,0.8,112.4,M,47.2,M"...)
			if e.class == ClassAutonomous {
				b = append(b, ",,"...)
			} else {
				b = append(b, ",1.0,0101"...)
			}
		} else {
			b = append(b, ",00,99.99,,M,,M,,"...)
		}
	case "GNS":
		b = w.position(w.time(append(b, ','), e), e)
		b = append(b, ',', mode, mode)
		if e.valid {
			b = append(b, ",14,0.8,112.4,47.2,1.0,0101"...)
		} else {
			b = append(b, ",00,99.99,,,,"...)
		}
	case "GLL":
		b = w.position(append(b, ','), e)
		b = w.time(append(b, ','), e)
		b = append(b, ',', status(e.valid), ',', mode)
	case "RMC":
		b = w.time(append(b, ','), e)
		b = append(b, ',', status(e.valid), ',')
		b = w.position(b[:len(b)-1], e)
		b = append(b, ',')
		if e.valid {
			b = appendFixed(b, e.speedMPS*3600/1852, 3)
		}
		b = append(b, ',')
		if e.valid && e.moving {
			b = appendDegrees(b, e.courseDeg, 3)
		}
		b = append(b, ',')
		y, m, d := e.at.Date()
		b = appendPadded(appendPadded(appendPadded(b, d, 2), int(m), 2), y%100, 2)
		b = append(b, ",,,"...)
		b = append(b, mode)
	case "VTG":
		b = append(b, ',')
		if e.valid && e.moving {
			b = appendDegrees(b, e.courseDeg, 3)
		}
		b = append(b, ",T,,M,"...)
		if e.valid {
			b = appendFixed(b, e.speedMPS*3600/1852, 3)
		}
		b = append(b, ",N,"...)
		if e.valid {
			b = appendFixed(b, e.speedMPS*3.6, 3)
		}
		b = append(b, ",K,"...)
		b = append(b, mode)
	case "ZDA":
		b = w.time(append(b, ','), e)
		y, m, d := e.at.Date()
		b = appendPadded(append(b, ','), d, 2)
		b = appendPadded(append(b, ','), int(m), 2)
		b = appendPadded(append(b, ','), y, 4)
		b = append(b, ",00,00"...)
	case "GST":
		b = w.time(append(b, ','), e)
		if e.valid {
			b = appendFixed(append(b, ','), e.sdM*1.2, 3)
			b = appendFixed(append(b, ','), e.sdM, 3)
			b = appendFixed(append(b, ','), e.sdM, 3)
			b = append(b, ",0.0"...)
			b = appendFixed(append(b, ','), e.sdM, 3)
			b = appendFixed(append(b, ','), e.sdM, 3)
			b = appendFixed(append(b, ','), e.sdM*1.8, 3)
		} else {
			b = append(b, ",,,,,,,"...)
		}
	case "HDT":
		b = append(b, ',')
		if e.valid {
			b = appendDegrees(b, e.headingDeg, 3)
		}
		b = append(b, ",T"...)
	case "THS":
		b = append(b, ',')
		if e.valid {
			b = appendDegrees(b, e.headingDeg, 3)
			b = append(b, ",A"...)
		} else {
			b = append(b, ",V"...)
		}
	}
	return appendChecksum(b, start+1)
}

func status(valid bool) byte {
	if valid {
		return 'A'
	}
	return 'V'
}

// time appends hhmmss.ss.
func (w *writer) time(b []byte, e *epoch) []byte {
	h, m, s := e.at.Clock()
	b = appendPadded(appendPadded(appendPadded(b, h, 2), m, 2), s, 2)
	ns := e.at.Nanosecond()
	div := 1_000_000_000
	for range w.timeDecimals {
		div /= 10
	}
	return appendPadded(append(b, '.'), ns/div, w.timeDecimals)
}

// position appends ,ddmm.mmmm,N,dddmm.mmmm,E or the same with nothing in it.
func (w *writer) position(b []byte, e *epoch) []byte {
	if b[len(b)-1] == ',' {
		b = b[:len(b)-1]
	}
	if !e.valid {
		return append(b, ",,,,"...)
	}
	b = w.angle(append(b, ','), math.Abs(e.latDeg), 2)
	b = append(b, ',', hemisphere(e.latDeg, 'N', 'S'), ',')
	b = w.angle(b, math.Abs(e.lonDeg), 3)
	return append(b, ',', hemisphere(e.lonDeg, 'E', 'W'))
}

func hemisphere(deg float64, plus, minus byte) byte {
	if deg < 0 {
		return minus
	}
	return plus
}

// angle appends degrees and minutes, rounded as a whole so that 60 minutes
// never stand there.
func (w *writer) angle(b []byte, deg float64, width int) []byte {
	scale := 1
	for range w.posDecimals {
		scale *= 10
	}
	total := int(math.Round(deg * 60 * float64(scale)))
	b = appendPadded(b, total/(60*scale), width)
	total %= 60 * scale
	b = appendPadded(b, total/scale, 2)
	return appendPadded(append(b, '.'), total%scale, w.posDecimals)
}

// appendFixed appends a number that is not negative with so many decimals.
func appendFixed(b []byte, v float64, decimals int) []byte {
	return strconv.AppendFloat(b, math.Max(v, 0), 'f', decimals, 64)
}

// appendDegrees appends an angle in [0, 360), so rounded that 360 never stands there.
func appendDegrees(b []byte, deg float64, decimals int) []byte {
	k := math.Pow10(decimals)
	v := math.Mod(math.Round(deg*k), 360*k)
	if v < 0 {
		v += 360 * k
	}
	return strconv.AppendFloat(b, v/k, 'f', decimals, 64)
}

func appendPadded(b []byte, v, width int) []byte {
	var d [20]byte
	s := strconv.AppendInt(d[:0], int64(v), 10)
	for i := len(s); i < width; i++ {
		b = append(b, '0')
	}
	return append(b, s...)
}
