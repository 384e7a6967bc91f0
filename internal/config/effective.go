package config

import (
	"bytes"
	"encoding/json"
	"path/filepath"

	"drawbar/controller"
	"drawbar/nmea"
	"drawbar/replay/statement"
)

// The effective configuration has the keys of the file, so that it is itself a
// configuration: reading it again gives the same File.
type (
	effective struct {
		Units      string                   `json:"units"`
		Timezone   string                   `json:"timezone"`
		GNSS       *effectiveGNSS           `json:"gnss,omitempty"`
		Controller *effectiveController     `json:"controller,omitempty"`
		Implement  *statement.ImplementJSON `json:"implement,omitempty"`
		Tanks      []statement.TankJSON     `json:"tanks"`
		Field      *effectiveField          `json:"field,omitempty"`
		Fields     *effectiveFields         `json:"fields,omitempty"`
		Limits     effectiveLimits          `json:"limits"`
		Server     effectiveServer          `json:"server"`
		Data       string                   `json:"data"`
	}
	effectiveGNSS struct {
		Source     string  `json:"source,omitempty"`
		Baud       int     `json:"baud"`
		LatencyS   float64 `json:"latency_s"`
		MinQuality string  `json:"min_quality"`
	}
	effectiveController struct {
		Source      string        `json:"source,omitempty"`
		Baud        int           `json:"baud"`
		StaleAfterS float64       `json:"stale_after_s"`
		ReportLagS  float64       `json:"report_lag_s"`
		Line        effectiveLine `json:"line"`
	}
	effectiveLine struct {
		Kind      string            `json:"kind"`
		Separator string            `json:"separator,omitempty"`
		Header    *bool             `json:"header,omitempty"`
		Checksum  string            `json:"checksum,omitempty"`
		Pattern   string            `json:"pattern,omitempty"`
		Columns   []effectiveColumn `json:"columns,omitempty"`
		Units     map[string]string `json:"units,omitempty"`
	}
	effectiveColumn struct {
		Column   string   `json:"column"`
		Field    string   `json:"field"`
		Tank     int      `json:"tank,omitempty"`
		TankFrom string   `json:"tank_from,omitempty"`
		Unit     string   `json:"unit,omitempty"`
		Scale    *float64 `json:"scale,omitempty"`
		Offset   float64  `json:"offset,omitempty"`
		Format   string   `json:"format,omitempty"`
		First    string   `json:"first,omitempty"`
	}
	effectiveField struct {
		Name     string `json:"name"`
		Boundary string `json:"boundary,omitempty"`
	}
	effectiveFields struct {
		Path     string `json:"path"`
		NameFrom string `json:"name_from,omitempty"`
	}
	effectiveLimits struct {
		SkipWidthM    float64 `json:"skip_width_m"`
		SkipMinAreaM2 float64 `json:"skip_min_area_m2"`
		MaxGapS       float64 `json:"max_gap_s"`
		MaxSpeedMPS   float64 `json:"max_speed_mps"`
	}
	effectiveServer struct {
		Listen string   `json:"listen"`
		Hosts  []string `json:"hosts,omitempty"`
	}
)

// MarshalJSON writes what the file states together with the defaults of what
// it does not.
func (f File) MarshalJSON() ([]byte, error) {
	e := effective{
		Units:    f.Units.String(),
		Timezone: f.Timezone.String(),
		Tanks:    statement.EncodeTanks(f.Tanks),
		Limits: effectiveLimits{
			SkipWidthM: f.Limits.SkipWidthM, SkipMinAreaM2: f.Limits.SkipMinAreaM2,
			MaxGapS: f.Limits.MaxGapS, MaxSpeedMPS: f.Limits.MaxSpeedMPS,
		},
		Server: effectiveServer{Listen: f.Listen, Hosts: f.Hosts},
		Data:   f.Data,
	}
	if rel, err := filepath.Rel(f.Dir, f.Data); err == nil && f.Dir != "" && !filepath.IsAbs(f.Data) {
		e.Data = rel
	}
	if f.HasGNSS {
		e.GNSS = &effectiveGNSS{Source: f.GNSS.Source, Baud: f.GNSS.Baud, LatencyS: f.GNSS.LatencyS, MinQuality: QualityName(f.GNSS.MinQuality)}
	}
	if c := f.Controller; f.HasController {
		e.Controller = &effectiveController{
			Source: c.Source, Baud: c.Baud, StaleAfterS: c.StaleAfterS, ReportLagS: c.ReportLagS, Line: effectiveOf(c.Line),
		}
	}
	if f.Implement != nil {
		im := statement.EncodeImplement(*f.Implement)
		e.Implement = &im
	}
	if f.Field.Name != "" {
		e.Field = &effectiveField{Name: f.Field.Name, Boundary: f.Field.BoundaryFile}
	}
	if f.Fields.From != "" {
		e.Fields = &effectiveFields{Path: f.Fields.From, NameFrom: f.Fields.NameFrom}
	}
	// An expression with named groups stays readable.
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	err := enc.Encode(e)
	return b.Bytes(), err
}

func effectiveOf(s controller.ProfileSpec) effectiveLine {
	line := effectiveLine{Kind: s.Kind, Separator: s.Separator, Checksum: s.Checksum, Pattern: s.Pattern}
	if s.Header {
		line.Header = &s.Header
	}
	for _, c := range s.Columns {
		line.Columns = append(line.Columns, effectiveColumn(c))
	}
	units := make(map[string]string)
	for _, u := range []struct{ key, text string }{
		{"rate", s.Units.Rate}, {"flow", s.Units.Flow}, {"total", s.Units.Total}, {"level", s.Units.Level}, {"speed", s.Units.Speed},
	} {
		if u.text != "" {
			units[u.key] = u.text
		}
	}
	line.Units = units
	return line
}

// QualityName is the word for gnss.min_quality.
func QualityName(q nmea.Quality) string {
	switch {
	case q >= nmea.QualityRTK:
		return "rtk"
	case q >= nmea.QualityFloat:
		return "float"
	case q >= nmea.QualityDGNSS:
		return "dgps"
	default:
		return "any"
	}
}
