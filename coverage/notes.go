package coverage

import "fmt"

// notes collects what a person should know, each once.
type notes struct {
	sectionsReported, sectionsSet int
	wrongUnit, wildRate           bool
	tankSilent, noFlow            bool
}

func (n *notes) sectionCount(reported, set int) {
	n.sectionsReported, n.sectionsSet = reported, set
}

// list says the notes in words, in a fixed order.
func (n *notes) list(t Totals) []string {
	var out []string
	say := func(is bool, format string, args ...any) {
		if is {
			out = append(out, fmt.Sprintf(format, args...))
		}
	}
	say(t.OutOfOrder > 0, "fixes that repeat or go back in time: %d; nothing was painted from them", t.OutOfOrder)
	say(t.SetBack > 0, "receiver time went back for good: %d; the first 3 s after it are among those fixes; several inputs must be given in the order in which they were recorded", t.SetBack)
	say(t.Jumps > 0, "jumps between fixes: %d; nothing was painted across them", t.Jumps)
	say(t.Fast > 0, "pairs of fixes at more than max_speed_mps by the receiver's own word: %d; they count as distance and nothing was painted", t.Fast)
	say(t.Unplaced > 0, "fixes too far from the operation's ground: %d; start a new operation there", t.Unplaced)
	say(n.sectionsSet > 0, "the controller reports %d sections, the implement has %d; those beyond were taken as off: set sections_m to match", n.sectionsReported, n.sectionsSet)
	say(n.wrongUnit, "a rate was reported in a unit that does not fit the product in that tank; its amount is not known: correct the product or the line profile")
	say(n.tankSilent, "a tank was not reported any more while others were; from then on its rate is not known")
	say(n.noFlow, "a tank's amount is to be worked out from its flow, and the controller reported none; its amount is not known")
	say(n.wildRate, "a rate below zero or beyond all measure was reported; its amount is not known: check the line profile's unit and scale")
	return out
}
