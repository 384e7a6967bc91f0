package main

import (
	"fmt"
	"strings"

	"drawbar/coverage"
	"drawbar/internal/units"
)

// drawColumns is how wide the bar is drawn at most.
const drawColumns = 60

// drawImplement draws an implement from above, the direction of travel up: its
// distances not to scale, its sections as wide as they are to one another.
//
//	antenna  +
//	         |  1.80 m to the hitch
//	  hitch  o
//	         |  6.00 m to the axle
//	   axle =+=
//	         |  7.20 m from the hitch to the bar
//	         |
//	[==|==|==|==]
func drawImplement(im coverage.Implement, system units.System) string {
	show := func(m float64) string { return system.Show(units.Length, m) }
	bar, middle := drawBar(im.SectionsM)
	// The words to the left of the line need room.
	margin := max(0, len("antenna ")-middle)
	middle += margin
	var b strings.Builder
	line := func(label, sign, text string) {
		// sign is centred on the middle.
		left := middle - len(sign)/2
		s := fmt.Sprintf("%*s%s", left, label+" ", sign)
		if text != "" {
			s += "  " + text
		}
		b.WriteString(strings.TrimRight(s, " ") + "\n")
	}
	antenna := ""
	if im.AntennaRightM != 0 {
		antenna = side(show, im.AntennaRightM) + " of the centre line"
	}
	hitch := show(im.AntennaToHitchM) + " to the hitch"
	if im.AntennaToHitchM < 0 {
		hitch = "the hitch is " + show(-im.AntennaToHitchM) + " ahead of the antenna"
	}
	line("antenna", "+", antenna)
	line("", "|", hitch)
	line("hitch", "o", "")
	if im.Mount == coverage.MountTowed {
		line("", "|", show(im.HitchToAxleM)+" from the hitch to the axle")
		line("axle", "=+=", "")
	}
	behind := show(im.HitchToBarM) + " from the hitch to the bar"
	if im.HitchToBarM < 0 {
		behind = "the bar is " + show(-im.HitchToBarM) + " ahead of the hitch"
	}
	line("", "|", behind)
	if im.BarRightM != 0 {
		line("", "|", "centre of the bar "+side(show, im.BarRightM)+" of the implement's centre line")
	}
	b.WriteString(strings.Repeat(" ", margin) + bar + "\n")
	b.WriteString(strings.Repeat(" ", margin) + sectionWords(im.SectionsM, show) + "\n")
	return b.String()
}

// side reads "0.40 m left".
func side(show func(float64) string, rightM float64) string {
	if rightM < 0 {
		return show(-rightM) + " left"
	}
	return show(rightM) + " right"
}

// drawBar draws the sections and tells where the middle of the bar is.
func drawBar(widthsM []float64) (bar string, middle int) {
	total, widest := 0.0, 0.0
	for _, w := range widthsM {
		total += w
		widest = max(widest, w)
	}
	room := float64(max(drawColumns-len(widthsM), len(widthsM)))
	scale := min(room/total, 8/widest)
	var b strings.Builder
	b.WriteByte('[')
	for i, w := range widthsM {
		if i > 0 {
			b.WriteByte('|')
		}
		b.WriteString(strings.Repeat("=", max(1, int(w*scale+0.5))))
	}
	b.WriteByte(']')
	return b.String(), b.Len() / 2
}

// sectionWords lists the widths, runs of equal ones together.
func sectionWords(widthsM []float64, show func(float64) string) string {
	var words []string
	for i := 0; i < len(widthsM); {
		j := i + 1
		for j < len(widthsM) && widthsM[j] == widthsM[i] {
			j++
		}
		words = append(words, fmt.Sprintf("%d x %s", j-i, show(widthsM[i])))
		i = j
	}
	return "left to right: " + strings.Join(words, ", ")
}
