package config

import (
	"drawbar/coverage"
	"drawbar/replay"
)

// Setup is the configuration as a session takes it.
func (f File) Setup() replay.Setup {
	return replay.Setup{
		Coverage: coverage.Setup{
			Implement:  f.Implement,
			Tanks:      f.Tanks,
			Field:      f.Field.Name,
			Limits:     f.Limits,
			MinQuality: f.GNSS.MinQuality,
			StaleS:     f.Controller.StaleAfterS,
			ReportLagS: f.Controller.ReportLagS,
		},
		Line:     f.Controller.Line,
		LatencyS: f.GNSS.LatencyS,
		Boundary: replay.Outline(f.Field.Boundary),
	}
}
