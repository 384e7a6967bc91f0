package ready

import (
	"strconv"

	"drawbar/controller"
	"drawbar/internal/units"
)

// RateText is a rate as a person writes it and ParseQuantityUnit reads it: in the
// unit in which it was stated, else in that of the system; to six digits, as no rate
// is known better. It is "" for one that is not known.
func RateText(q controller.Quantity, stated controller.Unit, system units.System) string {
	if !q.Dim.PerArea() {
		return ""
	}
	u := stated
	if u.Dim != q.Dim {
		u, _ = controller.ParseUnit(rateUnit(q.Dim, system))
	}
	v, ok := q.In(u)
	if !ok {
		return ""
	}
	v, _ = strconv.ParseFloat(strconv.FormatFloat(v, 'g', 6, 64), 64)
	return strconv.FormatFloat(v, 'f', -1, 64) + " " + u.Name
}

func rateUnit(d controller.Dim, system units.System) string {
	area := "ac"
	if system == units.Metric {
		area = "ha"
	}
	switch d {
	case controller.DimMassPerArea:
		if system == units.Metric {
			return "kg/ha"
		}
		return "lb/" + area
	case controller.DimVolumePerArea:
		if system == units.US {
			return "gal/ac"
		}
		return "l/" + area
	default:
		if system == units.Metric {
			return "seeds/m2"
		}
		return "seeds/ac"
	}
}
