package probe

import "fmt"

// advise says what to do next, and which of it is because something is wrong.
func advise(f *Finding, o Options) (advice, wrong []string) {
	note := func(format string, args ...any) { advice = append(advice, fmt.Sprintf(format, args...)) }
	say := func(format string, args ...any) {
		note(format, args...)
		wrong = append(wrong, advice[len(advice)-1])
	}
	if o.PortError != "" {
		say("%s", o.PortError)
		if f.Lines == 0 {
			return advice, wrong
		}
	}
	switch f.Carries {
	case CarriesReceiver:
		adviseReceiver(f.Receiver, say, note)
	case CarriesController:
		if f.Controller.proposed() {
			say("the line profile below is a guess by the look of the values: compare what it decodes with the controller's display while something changes")
		}
		if len(f.Controller.Unknown) > 0 {
			note("these keys are passed over: %s", list(f.Controller.Unknown))
		}
	case CarriesText:
		say("compare the lines with the controller's manual and write a line profile of kind delimited or pattern (controller.line in the configuration)")
	case CarriesNoise:
		adviseNoise(o, say)
	case CarriesSilence:
		adviseSilence(o, say)
	}
	return advice, wrong
}

func adviseReceiver(r *Receiver, say, note func(string, ...any)) {
	has := func(formatters ...string) bool {
		for _, s := range r.Sentences {
			for _, f := range formatters {
				if s.Formatter == f {
					return true
				}
			}
		}
		return false
	}
	if !has("GGA", "GNS", "RMC", "GLL") {
		say("no sentence carries a position: switch GGA and RMC on in the receiver's settings")
	} else {
		if !has("GGA", "GNS") {
			say("without GGA (or GNS) the quality of the fix is not known in full: switch it on in the receiver's settings")
		}
		if !has("RMC", "ZDA") {
			say("no sentence carries the date: switch RMC or ZDA on in the receiver's settings")
		}
		if r.Fixes == 0 {
			say("no position yet: give the antenna a clear view of the sky and wait a few minutes")
		} else if r.Lost {
			say("the position was lost: see that nothing covers the antenna")
		}
	}
	if r.FixesPerS != nil && *r.FixesPerS < 5 {
		say("a fix every %s s is seldom for switching sections at speed: 5 to 10 a second are better, if the receiver and the baud rate allow it", trim(*number(1 / *r.FixesPerS, 2)))
	}
	if r.Heading == HeadingNone {
		note("no heading is measured: it is taken from the direction of movement")
	}
	if r.BadChecksum > 0 {
		say("%d sentences had a wrong checksum: see the cable and its plugs, or ask for fewer sentences if the line is full", r.BadChecksum)
	}
}

func adviseNoise(o Options, say func(string, ...any)) {
	switch {
	case o.Serial && o.NotFound:
		say("none of the usual baud rates gives readable lines: the device may send a binary protocol: switch its port to NMEA 0183 or to text")
		say("see that the levels fit (RS-232 is not TTL) and that ground is connected")
	case o.Serial && !o.Searched:
		say("the baud rate is wrong, or the device sends a binary protocol: leave out --baud to have the rate found")
	default:
		say("the bytes are no text: the device may send a binary protocol: switch it to NMEA 0183 or to text")
	}
}

func adviseSilence(o Options, say func(string, ...any)) {
	switch {
	case o.Recording:
		say("the recording holds no line")
	case o.Serial:
		say("is the device switched on, and its output switched on in its settings?")
		say("is the cable in the right socket, and a straight one where the device wants a crossed one?")
		say("is it the right port? ls -l /dev/serial/by-id shows which there are")
	default:
		say("is the device switched on, in the same network, and set to send to this address and port?")
		say("does a firewall keep it out?")
	}
}
