package statement

import (
	"fmt"
	"strings"

	"drawbar/controller"
	"drawbar/coverage"
)

// The bounds of an implement in metres: wider or longer is a slip of the pen,
// no machine.
const (
	maxDistanceM = 50
	maxSectionM  = 100
	maxBarM      = 200
)

func implementKeys() []string {
	return []string{
		"name", "operation", "antenna_to_hitch_m", "antenna_right_m", "mount",
		"hitch_to_axle_m", "hitch_to_bar_m", "bar_right_m", "sections_m",
	}
}

// Implement reads an implement. sections_m must be there, and for a towed one
// hitch_to_axle_m; other distances are 0 where they are not stated, and the
// mount is rigid. ok is false if anything in it is at fault.
func Implement(n *Node, at string, faults *Faults) (im coverage.Implement, ok bool) {
	before := faults.Len()
	o, isMap := Open(n, at, faults, implementKeys())
	if !isMap {
		return coverage.Implement{}, false
	}
	im.Name, _ = o.Name("name", "the implement's name")
	im.Operation, _ = o.Name("operation", "an operation such as seeding")
	im.AntennaToHitchM = o.distance("antenna_to_hitch_m")
	im.AntennaRightM = o.distance("antenna_right_m")
	im.HitchToBarM = o.distance("hitch_to_bar_m")
	im.BarRightM = o.distance("bar_right_m")
	if mount, stated := o.Choice("mount", "rigid", "towed"); stated && mount == "towed" {
		im.Mount = coverage.MountTowed
	}
	im.HitchToAxleM = o.axle(im.Mount)
	im.SectionsM = o.sections()
	if faults.Len() > before {
		return coverage.Implement{}, false
	}
	return im, true
}

func (o Object) distance(key string) float64 {
	v, _ := o.Number(key, Range{Unit: "metres", Min: -maxDistanceM, Max: maxDistanceM})
	return v
}

// axle reads the length that steers a towed implement. A rigid one may state
// it too, as 0 for instance; it is then not used.
func (o Object) axle(mount coverage.Mount) float64 {
	r := Range{Unit: "metres", Max: maxDistanceM}
	if mount == coverage.MountTowed {
		r.Above = true
		if o.Get("hitch_to_axle_m") == nil {
			o.Missing("hitch_to_axle_m", "the metres from the hitch to the wheels that steer a towed implement")
			return 0
		}
	}
	v, _ := o.Number("hitch_to_axle_m", r)
	return v
}

// sections reads the widths, left to right.
func (o Object) sections() []float64 {
	const want = "the widths of the sections in metres, left to right, such as [3, 3, 3, 3]"
	if o.Get("sections_m") == nil {
		o.Missing("sections_m", want)
		return nil
	}
	items, ok := o.List("sections_m", want)
	if !ok {
		return nil
	}
	if len(items) == 0 || len(items) > controller.MaxSections {
		o.Fault("sections_m", fmt.Sprintf("%d sections", len(items)), fmt.Sprintf("1 to %d sections", controller.MaxSections))
		return nil
	}
	widths, bar := make([]float64, len(items)), 0.0
	for i := range items {
		w, ok := number(&items[i], indexed(o.path("sections_m"), i), o.faults, Range{Unit: "metres", Max: maxSectionM, Above: true})
		if !ok {
			return nil
		}
		widths[i] = w
		bar += w
	}
	if bar > maxBarM {
		o.Fault("sections_m", "a bar of "+short(bar)+" m", fmt.Sprintf("at most %d m over all sections", maxBarM))
		return nil
	}
	return widths
}

// Limits reads the limits of painting; base holds those that are not stated.
func Limits(n *Node, at string, faults *Faults, base coverage.Limits) coverage.Limits {
	o, ok := Open(n, at, faults, []string{"skip_width_m", "skip_min_area_m2", "max_gap_s", "max_speed_mps"})
	if !ok {
		return base
	}
	read := func(key string, r Range, to *float64) {
		if v, ok := o.Number(key, r); ok {
			*to = v
		}
	}
	read("skip_width_m", Range{Unit: "metres", Max: maxBarM}, &base.SkipWidthM)
	read("skip_min_area_m2", Range{Unit: "square metres", Max: 1e6}, &base.SkipMinAreaM2)
	read("max_gap_s", Range{Unit: "seconds", Max: 600, Above: true}, &base.MaxGapS)
	read("max_speed_mps", Range{Unit: "metres a second", Max: 100, Above: true}, &base.MaxSpeedMPS)
	return base
}

// MountName is the word for a mount.
func MountName(m coverage.Mount) string {
	if m == coverage.MountTowed {
		return "towed"
	}
	return "rigid"
}

// productKinds are the words for the kinds of a product, in the order of the
// enumeration from KindSeed on.
func productKinds() []string {
	return []string{"seed", "seed treatment", "granular", "liquid", "anhydrous", "inoculant"}
}

// ProductKindName is the word for a kind of product, "" for an unknown one.
func ProductKindName(k coverage.ProductKind) string {
	i := int(k) - int(coverage.KindSeed)
	if names := productKinds(); i >= 0 && i < len(names) {
		return names[i]
	}
	return ""
}

// productKind is the kind that a word names; underscores stand for spaces.
func productKind(s string) (coverage.ProductKind, bool) {
	s = strings.ReplaceAll(s, "_", " ")
	for i, name := range productKinds() {
		if s == name {
			return coverage.KindSeed + coverage.ProductKind(i), true
		}
	}
	return coverage.KindUnknown, false
}
