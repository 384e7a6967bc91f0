package arrivals

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"drawbar/internal/live"
	"drawbar/internal/probe"
	"drawbar/nmea"
)

// receiver says what a receiver's port carries.
func (s *Source) receiver(state *live.SourceState, lines []line) {
	f := probe.Analyse(probed(lines), options(state))
	s.Trouble = portTrouble(state)
	switch {
	case len(lines) == 0:
	case f.Carries == probe.CarriesReceiver:
		s.Words = append(s.Words, sentencesWords(s.RateHz, f.Receiver), positionWords(f.Receiver))
		if f.Receiver.Heading == probe.HeadingMeasured {
			s.Words = append(s.Words, fmt.Sprintf("heading measured, %.1f°", *f.Receiver.HeadingDeg))
		}
		s.Trouble = append(s.Trouble, f.Wrong()...)
	case f.Carries == probe.CarriesController:
		s.Words = append(s.Words, "lines of a rate controller")
		s.Trouble = append(s.Trouble, "this port carries a rate controller and not a receiver: swap gnss.source and controller.source in the configuration")
	case f.Carries == probe.CarriesText:
		s.Words = append(s.Words, "text that is no sentence of a receiver")
		s.Trouble = append(s.Trouble, "no line is a sentence of NMEA 0183: switch the receiver's output to NMEA 0183, or see that it is the right port")
	default:
		s.Words = append(s.Words, "bytes that are no text")
		s.Trouble = append(s.Trouble, f.Wrong()...)
	}
	for _, l := range lines[max(0, len(lines)-shownLines):] {
		s.Lines = append(s.Lines, sentence(l))
	}
}

// probed is the lines as they are analysed.
func probed(lines []line) []probe.Line {
	out := make([]probe.Line, len(lines))
	for i, l := range lines {
		out[i] = probe.Line{At: l.at, Text: l.text}
	}
	return out
}

func options(state *live.SourceState) probe.Options {
	serial := !strings.Contains(state.Address, "://")
	return probe.Options{Address: state.Address, Baud: state.Baud, Serial: serial, Bytes: state.Bytes}
}

func portTrouble(state *live.SourceState) []string {
	if state.Up {
		return nil
	}
	if state.LastError == "" {
		return []string{"the port is not open yet"}
	}
	return []string{"the port is not open: " + state.LastError}
}

// silentAfterS is after how many seconds without a line a port is silent.
const silentAfterS = 3

// silent says that nothing comes on a port that is open.
func (s *Source) silent() {
	switch {
	case !s.Up:
	case s.AgeS == nil:
		s.Trouble = append(s.Trouble, "nothing has come in the last minute: see that the device is switched on and its output too, that the cable is in, and that it is the right port")
	case *s.AgeS > silentAfterS:
		s.Trouble = append(s.Trouble, fmt.Sprintf("nothing has come for %.0f s: see that the device is switched on and the cable is in", *s.AgeS))
	}
}

func perSecond(rateHz *float64) string {
	if rateHz == nil {
		return "one line"
	}
	return number(*rateHz) + " lines a second"
}

// number has one digit behind the point below ten.
func number(v float64) string {
	if v >= 9.95 {
		return strconv.FormatFloat(math.Round(v), 'f', 0, 64)
	}
	return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64)
}

func sentencesWords(rateHz *float64, r *probe.Receiver) string {
	var names []string
	for _, s := range r.Sentences {
		names = append(names, s.Formatter)
	}
	text := perSecond(rateHz)
	if len(names) > 0 {
		text += "; " + strings.Join(names, ", ") + " with good checksums"
	}
	return text
}

func positionWords(r *probe.Receiver) string {
	switch {
	case r.Fixes == 0:
		return "no position yet"
	case r.Lost:
		return "the position was lost; the last one was " + probe.QualityWords(r.Quality)
	}
	text := "position " + place(*r.LatDeg, *r.LonDeg) + ", " + probe.QualityWords(r.Quality)
	if r.Satellites != nil {
		text += fmt.Sprintf(", %d satellites", *r.Satellites)
	}
	if r.FixesPerS != nil {
		text += ", " + number(*r.FixesPerS) + " fixes a second"
	}
	return text
}

func place(latDeg, lonDeg float64) string {
	north, east := "N", "E"
	if latDeg < 0 {
		north = "S"
	}
	if lonDeg < 0 {
		east = "W"
	}
	return fmt.Sprintf("%.5f %s %.5f %s", math.Abs(latDeg), north, math.Abs(lonDeg), east)
}

// sentence is one line of a receiver's port.
func sentence(l line) Line {
	out := Line{Time: l.at, Text: probe.Shown(l.text, mostShown)}
	if l.cut {
		out.Text += "…"
	}
	var r nmea.Reader
	fixes := append([]nmea.Fix(nil), r.Line(l.at, l.text)...)
	fixes = append(fixes, r.Flush()...)
	t := r.Tally()
	switch {
	case len(bytes.TrimSpace(l.text)) == 0:
		out.OK = true
	case t.BadChecksum > 0:
		out.Reason = "the checksum is wrong: part of the line was lost or changed on its way"
	case t.Sentences == 0:
		out.Reason = "no sentence of NMEA 0183 with a checksum"
	case t.Unparsed > 0:
		out.Reason = "the checksum is good, but what is in it cannot be read"
	default:
		out.OK = true
		out.Decoded = sentenceWords(l.at, l.text, fixes)
	}
	return out
}

// mostShown is how many bytes of a line are shown.
const mostShown = 400

// sentenceWords is what a good sentence says.
func sentenceWords(at time.Time, text []byte, fixes []nmea.Fix) string {
	body := text[max(0, bytes.LastIndexAny(text, "$!"))+1:]
	if star := bytes.LastIndexByte(body, '*'); star >= 0 {
		body = body[:star]
	}
	fields := strings.Split(string(body), ",")
	formatter := fields[0]
	if len(formatter) > 2 && formatter[0] != 'P' {
		formatter = formatter[2:]
	}
	field := func(i int) (float64, bool) {
		if i >= len(fields) {
			return 0, false
		}
		v, err := strconv.ParseFloat(fields[i], 64)
		return v, err == nil && !math.IsNaN(v) && !math.IsInf(v, 0)
	}
	if len(fixes) > 0 {
		return fixWords(&fixes[len(fixes)-1])
	}
	var parts []string
	switch formatter {
	case "GGA", "GNS", "RMC", "GLL":
		return "no position"
	case "VTG":
		if v, ok := field(7); ok {
			parts = append(parts, fmt.Sprintf("%.1f km/h", v))
		} else if v, ok := field(5); ok {
			parts = append(parts, fmt.Sprintf("%.1f km/h", v*1.852)) // the international knot, 1852 m an hour
		}
		if v, ok := field(1); ok {
			parts = append(parts, fmt.Sprintf("course %.1f°", v))
		}
		if parts == nil {
			return "no speed"
		}
	case "HDT", "THS":
		v, ok := field(1)
		if !ok {
			return "no heading"
		}
		parts = append(parts, fmt.Sprintf("heading %.1f°", v))
	case "ZDA":
		if len(fields) > 4 && len(fields[1]) >= 6 {
			f := fields[1]
			parts = append(parts, fmt.Sprintf("%s-%s-%s %s:%s:%s UTC", fields[4], fields[3], fields[2], f[:2], f[2:4], f[4:6]))
		}
	}
	if parts == nil {
		return probe.About(formatter)
	}
	return strings.Join(parts, ", ")
}

// fixWords is what a sentence says of the position.
func fixWords(f *nmea.Fix) string {
	text := "fix " + place(f.LatDeg, f.LonDeg)
	if f.Quality != nmea.QualityUnknown {
		text += ", " + qualityName(f.Quality)
	}
	if f.Has&nmea.HasSatellites != 0 {
		text += fmt.Sprintf(", %d satellites", f.Satellites)
	}
	if f.Has&nmea.HasHDOP != 0 {
		text += fmt.Sprintf(", HDOP %.1f", f.HDOP)
	}
	if f.Has&nmea.HasSpeed != 0 {
		text += fmt.Sprintf(", %.1f km/h", 3.6*f.SpeedMPS)
	}
	if f.Has&nmea.HasCourse != 0 {
		text += fmt.Sprintf(", course %.1f°", f.CourseDeg)
	}
	if f.Has&nmea.HasDate != 0 {
		text += ", " + f.Time.UTC().Format("2006-01-02 15:04:05") + " UTC"
	}
	return text
}

// qualityName is the short name of a quality for people.
func qualityName(q nmea.Quality) string {
	switch q {
	case nmea.QualityRTK:
		return "RTK"
	case nmea.QualityFloat:
		return "RTK float"
	case nmea.QualityDGNSS:
		return "differential"
	default:
		return q.String()
	}
}
