package metrics

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"drawbar/internal/live"
)

// Reader gives the state published last and how long ago that was; nil before
// the first. A live.Hub is one.
type Reader interface {
	Read() (*live.State, time.Duration)
}

// Collector is a prometheus.Collector over a Reader. Its methods may be called
// from any goroutine.
type Collector struct {
	from          Reader
	version       string
	descs         descs
	fixToCoverage prometheus.Histogram
	sessionSync   prometheus.Histogram
}

// New returns a collector to register.
func New(from Reader, version string) *Collector {
	return &Collector{
		from: from, version: clean(version), descs: newDescs(),
		fixToCoverage: prometheus.NewHistogram(prometheus.HistogramOpts{
			Name:    "drawbar_fix_to_coverage_seconds",
			Help:    "Time from the last byte of a fix to the state of coverage that includes it.",
			Buckets: []float64{.0001, .00025, .0005, .001, .0025, .005, .01, .025, .05, .1, .25, .5, 1},
		}),
		sessionSync: prometheus.NewHistogram(prometheus.HistogramOpts{
			Name:    "drawbar_session_sync_seconds",
			Help:    "Time that the disk took to confirm what was recorded.",
			Buckets: []float64{.0005, .001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5},
		}),
	}
}

// ObserveFixToCoverage counts one fix that has reached coverage.
func (c *Collector) ObserveFixToCoverage(d time.Duration) { c.fixToCoverage.Observe(d.Seconds()) }

// ObserveSync counts one sync of the session.
func (c *Collector) ObserveSync(d time.Duration) { c.sessionSync.Observe(d.Seconds()) }

// Describe implements prometheus.Collector.
func (c *Collector) Describe(out chan<- *prometheus.Desc) {
	for _, d := range c.descs.all() {
		out <- d
	}
	c.fixToCoverage.Describe(out)
	c.sessionSync.Describe(out)
}

// Collect implements prometheus.Collector.
func (c *Collector) Collect(out chan<- prometheus.Metric) {
	e := emit{out, &c.descs}
	e.gauge(c.descs.build, 1, c.version)
	c.fixToCoverage.Collect(out)
	c.sessionSync.Collect(out)
	if s, age := c.from.Read(); s != nil {
		e.state(s, age)
	}
}

// emit writes constant metrics.
type emit struct {
	out chan<- prometheus.Metric
	*descs
}

func (e emit) gauge(d *prometheus.Desc, v float64, labels ...string) {
	e.out <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, v, labels...)
}

func (e emit) counter(d *prometheus.Desc, v float64, labels ...string) {
	e.out <- prometheus.MustNewConstMetric(d, prometheus.CounterValue, v, labels...)
}

// untyped is for the one gauge whose name ends like a histogram's count: as an
// untyped metric the name is in order.
func (e emit) untyped(d *prometheus.Desc, v float64, labels ...string) {
	e.out <- prometheus.MustNewConstMetric(d, prometheus.UntypedValue, v, labels...)
}
