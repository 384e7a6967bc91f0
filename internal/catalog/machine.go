package catalog

import (
	"encoding/json"

	"drawbar/coverage"
	"drawbar/replay/statement"
)

// Implement is a drill, planter, sprayer or spreader as the configuration states
// it. Its name is its own among those that are not archived.
type Implement struct {
	Meta
	coverage.Implement
	Note string
}

// Tractor is where a tractor has its antenna and its hitches, in metres.
type Tractor struct {
	Meta
	Name              string
	Note              string
	AntennaRightM     float64 // m, of the antenna right of the centre line
	AntennaToHitchM   float64 // m, the drawbar's pin behind the antenna (negative: ahead)
	AntennaToLinkageM float64 // m, the ends of the lower links behind the antenna, where HasLinkage
	HasLinkage        bool
}

// Pull is the implement behind this tractor: the distances of the antenna are the
// tractor's, to the linkage for a rigid implement where that is known, else to the
// drawbar's pin.
func (t Tractor) Pull(im coverage.Implement) coverage.Implement {
	im.SectionsM = append([]float64(nil), im.SectionsM...)
	im.AntennaRightM, im.AntennaToHitchM = t.AntennaRightM, t.AntennaToHitchM
	if im.Mount == coverage.MountRigid && t.HasLinkage {
		im.AntennaToHitchM = t.AntennaToLinkageM
	}
	return im
}

func (im *Implement) check() (p problems) {
	p.name("name", im.Name, "the implement's name")
	p.note(im.Note)
	// The rules are those of the configuration: it is written as there, and read.
	text, err := json.Marshal(statement.EncodeImplement(im.Implement))
	if err != nil {
		p.add("", "a length that is no number", "lengths in metres")
		return p
	}
	n, err := statement.FromJSON(text)
	if err != nil {
		p.add("", "an implement that cannot be written", "one with plain names and lengths")
		return p
	}
	var faults statement.Faults
	read, ok := statement.Implement(n, "", &faults)
	for _, f := range faults.List() {
		p.once(f.Problem)
	}
	if ok {
		im.Implement = read
	}
	return p
}

func (t *Tractor) check() (p problems) {
	p.name("name", t.Name, "the tractor's name")
	p.note(t.Note)
	p.number("antenna_right_m", t.AntennaRightM)
	p.number("antenna_to_hitch_m", t.AntennaToHitchM)
	if t.HasLinkage {
		p.number("antenna_to_linkage_m", t.AntennaToLinkageM)
	} else {
		t.AntennaToLinkageM = 0
	}
	return p
}
