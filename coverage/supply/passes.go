package supply

import (
	"drawbar/coverage"
	"drawbar/coverage/plane"
)

// Pass is the pass in hand, and what the ones before it tell of it.
type Pass struct {
	Border  *Border // nil: there is no boundary
	DoneM   float64 // worked so far, m of way
	LastM   float64 // work of the pass before, m of way; 0: none yet
	StopM   float64 // so far before the border it ended, m
	Working bool    // the machine is on the pass; false: between passes
}

// ahead is the rest of the pass.
func (p Pass) ahead(s *coverage.Snapshot, here spot, placed bool) stretches {
	switch {
	case !p.Working || !placed:
		return stretches{}
	case p.Border != nil:
		if on, ok := placeOn(p.Border.plane, s); ok {
			if way := p.Border.ahead(on); way.known {
				return way.cut(p.StopM)
			}
		}
		return stretches{} // outside: nobody knows where it ends
	case p.LastM > 0:
		left := max(0, p.LastM-p.DoneM)
		out := stretches{endM: left, known: true}
		out.add(stretch{0, left})
		return out
	}
	return stretches{}
}

// next is the work of the next pass, m of way.
func (p Pass) next(ahead stretches) (float64, bool) {
	longest := p.LastM
	if ahead.known {
		longest = max(longest, p.DoneM+ahead.workM())
	}
	return longest, longest > 0
}

// Passes follows the passes of the work. The zero value is ready; it is for one
// goroutine.
type Passes struct {
	pass   Pass
	op     int     // number of the operation
	barM   float64 // width of the bar
	plane  *plane.Plane
	last   spot    // as of the step before
	placed bool    // last is set
	on     bool    // at the step before
	off    spot    // where work broke off
	stopM  float64 // from there to the border; with stops
	stops  bool
	turned [2]bend // courses worked a while ago, the older first
}

// bend is the course after so much of the pass.
type bend struct {
	doneM   float64
	forward vec
}

// What makes a pass.
const (
	cosSamePass  = 0.866 // a pass goes on within 30 degrees of where it broke off
	cosTurn      = 0.5   // a turn by more than 60 degrees begins a new pass
	leastPassM   = 10.0  // a shorter one, or one shorter than the bar, is a corner
	mostStopBars = 4.0   // a pass that ends farther from the border ended for other reasons
	jumpM        = 200.0 // nobody drives so far between two steps
	turnBars     = 4.0   // within so many bars' way
	mostGapBars  = 10.0  // a pass that was broken off for longer is over
)

// Step takes the next snapshot and works out the forecast from there.
func (p *Passes) Step(s *coverage.Snapshot) Forecast {
	p.follow(s)
	return Of(s, p.pass)
}

// Pass is the pass as of the last step.
func (p *Passes) Pass() Pass { return p.pass }

func (p *Passes) follow(s *coverage.Snapshot) {
	p.begin(s)
	on, known := working(s)
	if !known || !p.placed {
		p.locate(s)
		return
	}
	was := p.last
	if !p.locate(s) {
		return
	}
	way := was.at.to(p.last.at).length()
	if way > jumpM {
		p.end()
		p.on = false
		return
	}
	switch {
	case on && p.on:
		p.pass.DoneM += way
		p.bend()
	case on: // the switch was somewhere between the two steps
		p.resume()
		p.pass.DoneM += float64(way / 2)
	case p.on:
		p.pass.DoneM += float64(way / 2)
		p.breakOff()
	case p.pass.Working && (!p.straight() || p.outside()):
		p.end()
	}
	p.on = on
}

// begin starts anew where another operation or another bar works.
func (p *Passes) begin(s *coverage.Snapshot) {
	op, bar := 0, widths(s).bar
	var boundary coverage.Boundary
	if s.Operation != nil {
		op, boundary = s.Operation.Number, s.Operation.Boundary
	}
	if op != p.op || bar != p.barM {
		*p = Passes{op: op, barM: bar, pass: Pass{Border: p.pass.Border}, plane: p.plane}
	}
	if !p.pass.Border.shows(boundary) {
		p.pass.Border, p.pass.StopM = NewBorder(boundary), 0
		p.plane = nil
	}
}

// working tells whether any section is on the ground; known is false where a
// section is off for all that is known.
func working(s *coverage.Snapshot) (on, known bool) {
	known = len(s.Sections) > 0
	for _, state := range s.Sections {
		switch state {
		case coverage.SectionOn:
			return true, true
		case coverage.SectionUnknown:
			known = false
		}
	}
	return false, known
}

// locate notes where the bar is; false where nothing joins that to the step before.
func (p *Passes) locate(s *coverage.Snapshot) bool {
	fresh := p.plane == nil
	if fresh {
		switch {
		case p.pass.Border != nil:
			p.plane = p.pass.Border.plane
		case len(s.Bar) > 0:
			p.plane = plane.New(s.Bar[0][1], s.Bar[0][0])
		default:
			return false
		}
	}
	here, ok := placeOn(p.plane, s)
	if !ok {
		if len(s.Bar) > 1 { // out of the plane's reach
			p.plane, p.placed = nil, false
		}
		return false
	}
	joined := p.placed && !fresh
	p.last, p.placed = here, true
	return joined
}

// bend begins a new pass where the bar has turned round while it worked.
func (p *Passes) bend() {
	if p.turned[0].forward.dot(p.last.forward) < cosTurn {
		p.end()
		p.start()
		return
	}
	if p.pass.DoneM-p.turned[1].doneM > float64(p.barM*turnBars)/2 {
		p.turned[0], p.turned[1] = p.turned[1], bend{p.pass.DoneM, p.last.forward}
	}
}

// resume goes on with the pass where work broke off on the same line, behind a hole
// or a strip worked before, and begins a new one elsewhere.
func (p *Passes) resume() {
	if p.pass.Working && p.straight() {
		return
	}
	p.end()
	p.start()
}

// straight tells whether the bar is still on the line on which work broke off.
func (p *Passes) straight() bool {
	way := p.off.at.to(p.last.at)
	along, aside := p.off.forward.dot(way), p.off.forward.left(way)
	return p.off.forward.dot(p.last.forward) >= cosSamePass && max(aside, -aside) <= p.barM/2 &&
		along >= -p.barM/2 && along <= float64(p.barM*mostGapBars)
}

// outside tells whether the bar has left the field.
func (p *Passes) outside() bool { return p.pass.Border != nil && !p.pass.Border.ahead(p.last).known }

// breakOff notes where work broke off: what was switched off beyond the border ended
// at it.
func (p *Passes) breakOff() {
	p.off = p.last
	if p.pass.Border != nil {
		p.stopM, p.stops = p.pass.Border.ahead(p.last).endM, true
	}
	if p.pass.Working && p.outside() {
		p.end()
	}
}

func (p *Passes) start() {
	p.pass.Working, p.pass.DoneM = true, 0
	p.turned = [2]bend{{0, p.last.forward}, {0, p.last.forward}}
	p.stops = false
}

// end closes the pass; a corner leaves what was known of passes.
func (p *Passes) end() {
	if p.pass.Working && p.pass.DoneM >= max(leastPassM, p.barM) {
		p.pass.LastM = p.pass.DoneM
		if p.stops && p.stopM <= float64(mostStopBars*p.barM) {
			p.pass.StopM = p.stopM
		}
	}
	p.pass.Working, p.pass.DoneM, p.stops = false, 0, false
}
