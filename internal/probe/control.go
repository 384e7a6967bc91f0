package probe

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"

	"drawbar/controller"
)

// Where a profile comes from.
const (
	fromConfig   = "configuration"
	fromKeyValue = "keyvalue"
	fromProposal = "proposal"
)

// mostSamples is how many lines or values are shown.
const mostSamples = 3

// control reads the lines as a controller's: by the configured profile, then as
// key=value, then by a profile that is made up from the look of them.
func control(lines []Line, o Options) *Controller {
	c := &Controller{Refused: []Refusal{}, Decoded: []string{}, Columns: []Column{}, Samples: []string{}, Unknown: []string{}}
	if per := span(lines); per > 0 {
		c.PerS = number(float64(len(lines))/per, 2)
	}
	for _, l := range lines[max(0, len(lines)-mostSamples):] {
		c.Samples = append(c.Samples, shown(l.Text))
	}
	if len(lines) == 0 {
		return c
	}
	var configured *Controller
	if o.Profile != nil {
		c.From, c.Kind = fromConfig, o.Spec.Kind
		c.read(lines, o.Profile)
		if 10*c.Reports >= len(lines) {
			return c
		}
		kept := *c
		configured = &kept
	}
	if p := compile(controller.ProfileSpec{Kind: "keyvalue"}); p != nil {
		c.From, c.Kind = fromKeyValue, "keyvalue"
		c.read(lines, p)
		if 10*c.Reports >= len(lines) {
			c.Unknown = otherKeys(lines)
			return c
		}
	}
	c.propose(lines)
	if c.Reports == 0 {
		c.Unknown = otherKeys(lines)
		c.Why = whyNot(c, configured)
	}
	return c
}

func compile(s controller.ProfileSpec) *controller.Profile {
	p, problems := controller.Compile(s, controller.Defaults{})
	if len(problems) > 0 {
		return nil
	}
	return p
}

// read decodes all lines by a profile and keeps what they say.
func (c *Controller) read(lines []Line, p *controller.Profile) {
	c.Reports, c.Refused, c.Decoded = 0, []Refusal{}, []string{}
	d := p.NewDecoder()
	var refused [controller.ReasonCount]Refusal
	said := latest{}
	for _, l := range lines {
		r, e := d.Line(l.Text)
		if e != nil {
			if e.Reason.Rejected() {
				x := &refused[e.Reason]
				x.Reason, x.Example = e.Reason.String(), e.Error()
				x.Count++
			}
			continue
		}
		c.Reports++
		said.take(r)
	}
	for _, r := range refused {
		if r.Count > 0 {
			c.Refused = append(c.Refused, r)
		}
	}
	slices.SortStableFunc(c.Refused, func(a, b Refusal) int { return cmp.Compare(b.Count, a.Count) })
	c.Decoded = said.words()
}

// otherKeys are the keys of key=value pieces that are none of ours.
func otherKeys(lines []Line) []string {
	keys := []string{}
	for _, l := range lines[max(0, len(lines)-100):] {
		for _, piece := range bytes.FieldsFunc(l.Text, func(r rune) bool { return strings.ContainsRune(" ,;\t", r) }) {
			key, _, is := bytes.Cut(piece, []byte("="))
			if !is || len(key) == 0 || len(key) > 30 || printableBytes(key) < len(key) || ours(string(key)) {
				continue
			}
			if !slices.Contains(keys, string(key)) && len(keys) < 20 {
				keys = append(keys, string(key))
			}
		}
	}
	slices.Sort(keys)
	return keys
}

func ours(key string) bool {
	switch key {
	case "work", "sections", "speed":
		return true
	}
	rest, is := strings.CutPrefix(key, "tank.")
	if !is {
		return false
	}
	_, field, _ := strings.Cut(rest, ".")
	return slices.Contains([]string{"rate", "target", "flow", "total", "level"}, field)
}

// whyNot says why nothing reads the lines.
func whyNot(c, configured *Controller) string {
	switch {
	case configured != nil && len(configured.Refused) > 0:
		return "the configured line profile refuses every line: " + configured.Refused[0].Example
	case len(c.Unknown) > 0:
		return "the lines are key=value, but none of the keys is one that drawbar knows (work, sections, speed, tank.1.rate and so on)"
	case len(c.Columns) > 0:
		return "the lines have columns, but none looks like a rate, sections, or a work switch"
	default:
		return "the lines are text, but neither key=value nor columns between one and the same separator"
	}
}

// shown is a line as it can be shown, cut where it is long.
func shown(line []byte) string { return Shown(line, 160) }

// Shown is at most so many bytes of a line as they can be shown: text as it is,
// other bytes as \xHH.
func Shown(line []byte, most int) string {
	var b strings.Builder
	for _, c := range line[:min(len(line), most)] {
		if c >= ' ' && c <= '~' {
			b.WriteByte(c)
		} else {
			fmt.Fprintf(&b, "\\x%02X", c)
		}
	}
	if len(line) > most {
		b.WriteString("…")
	}
	return b.String()
}
