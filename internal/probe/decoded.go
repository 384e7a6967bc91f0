package probe

import (
	"fmt"
	"strings"

	"drawbar/controller"
)

// values is how many values a tank, or the implement, can have.
const values = 5

// ReportWords is what one line of a controller said, in words: a line for the
// implement and one for each tank.
func ReportWords(r controller.Report) []string {
	var l latest
	l.take(r)
	return l.words()
}

// latest is the last value of everything that reports said, in words; [0] is of
// the implement, the others of the tanks.
type latest [controller.MaxTank + 1][values]string

func (l *latest) take(r controller.Report) {
	machine := &l[0]
	if r.Has&controller.HasWork != 0 {
		machine[0] = "not working"
		if r.Work {
			machine[0] = "working"
		}
	}
	if r.Has&controller.HasSections != 0 {
		machine[1] = "sections " + r.Sections.String() + " from the left"
	}
	if r.Has&controller.HasSpeed != 0 {
		machine[2] = fmt.Sprintf("speed %.1f km/h", 3.6*r.SpeedMPS)
	}
	for _, t := range r.Tanks {
		for i, v := range [values]struct {
			has   controller.Has
			name  string
			q     controller.Quantity
			scale float64
			per   string
		}{
			{controller.HasRate, "rate", t.Rate, controller.HectareM2, "/ha"},
			{controller.HasTarget, "target", t.Target, controller.HectareM2, "/ha"},
			{controller.HasFlow, "flow", t.Flow, 60, "/min"},
			{controller.HasTotal, "total", t.Total, 1, ""},
			{controller.HasLevel, "level", t.Level, 1, ""},
		} {
			if t.Has&v.has != 0 {
				l[t.Tank][i] = fmt.Sprintf("%s %.5g %s%s", v.name, v.q.SI*v.scale, v.q.Dim.AmountUnit(), v.per)
			}
		}
	}
}

// words is a line for the implement and for each tank, of what came.
func (l *latest) words() []string {
	all := []string{}
	for tank := range l {
		var parts []string
		for _, v := range l[tank] {
			if v != "" {
				parts = append(parts, v)
			}
		}
		switch line := strings.Join(parts, ", "); {
		case line == "":
		case tank == 0:
			all = append(all, line)
		default:
			all = append(all, fmt.Sprintf("tank %d: %s", tank, line))
		}
	}
	return all
}
