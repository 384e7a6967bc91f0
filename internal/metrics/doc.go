// Package metrics shows the published state of a session as Prometheus metrics,
// in base units, with label values from bounded sets only.
//
// One Collector turns the latest state into constant metrics at each scrape:
// nothing is counted twice, and a scrape neither locks the core nor waits for
// it. What is not known has no sample, which is not the same as zero. The two
// histograms are the only metrics that are observed as things happen.
package metrics
