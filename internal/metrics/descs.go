package metrics

import "github.com/prometheus/client_golang/prometheus"

// descs are the metrics by name; the names are an interface to the outside.
type descs struct {
	sentences, fixes, fixAge                *prometheus.Desc
	lines, reportAge                        *prometheus.Desc
	sourceUp, sourceReconnects, sourceBytes *prometheus.Desc
	speed, heading                          *prometheus.Desc
	area, applied, rate                     *prometheus.Desc
	sectionsOn, sectionCount, level         *prometheus.Desc
	sessionBytes, alarm, build              *prometheus.Desc
}

func newDescs() descs {
	d := func(name, help string, labels ...string) *prometheus.Desc {
		return prometheus.NewDesc("drawbar_"+name, help, labels, nil)
	}
	return descs{
		sentences:        d("gnss_sentences_total", "NMEA 0183 sentences of this session by formatter and what became of them.", "formatter", "result"),
		fixes:            d("gnss_fixes_total", "Fixes of this session by the quality that the receiver stated.", "quality"),
		fixAge:           d("gnss_fix_age_seconds", "Time since the latest fix arrived."),
		lines:            d("controller_lines_total", "Lines of the rate controller in this session by what became of them: report, ignored (blank or header) or why it was rejected.", "result"),
		reportAge:        d("controller_report_age_seconds", "Time since the latest report of the rate controller arrived."),
		sourceUp:         d("source_up", "Whether the source is open.", "source"),
		sourceReconnects: d("source_reconnects_total", "Times the source was opened again after it was lost.", "source"),
		sourceBytes:      d("source_bytes_total", "Bytes read from the source.", "source"),
		speed:            d("speed_meters_per_second", "Speed over ground; absent without a recent fix."),
		heading:          d("heading_degrees", "True heading of the tractor, clockwise from north; absent without a recent fix."),
		area:             d("area_square_meters", "Area of the operation in hand.", "kind"),
		applied:          d("applied_total", "Amount that the operation in hand put down, in the unit given (kg, l or seeds); starts again with a new operation.", "tank", "product", "unit"),
		rate:             d("rate", "Rate as the meter said last and its target, in the unit given per square metre.", "tank", "product", "unit", "kind"),
		sectionsOn:       d("sections_on", "Sections on the ground that are on; absent while that is not known."),
		sectionCount:     d("section_count", "Sections of the implement; absent without one."),
		level:            d("tank_level", "What is left in the tank, in the unit given.", "tank", "unit"),
		sessionBytes:     d("session_bytes_total", "Bytes written to the session that is being recorded; starts again with a new session."),
		alarm:            d("alarm", "Whether an alarm of this kind stands (1) or not (0).", "alarm"),
		build:            d("build_info", "Always 1; the version of the program.", "version"),
	}
}

func (d *descs) all() []*prometheus.Desc {
	return []*prometheus.Desc{
		d.sentences, d.fixes, d.fixAge, d.lines, d.reportAge, d.sourceUp, d.sourceReconnects, d.sourceBytes,
		d.speed, d.heading, d.area, d.applied, d.rate, d.sectionsOn, d.sectionCount, d.level, d.sessionBytes, d.alarm, d.build,
	}
}
