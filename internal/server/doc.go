// Package server shows a running session over HTTP and takes what the operator
// says.
//
//	GET  /              a plain page: state, totals, sources, alarms
//	GET  /metrics       Prometheus text
//	GET  /healthz       200 while the core works, 503 when it does not
//	GET  /events        server-sent events: state, alarm, mark
//	GET  /api/state     everything that is known now
//	GET  /api/sources   the input ports
//	GET  /api/alarms    the alarms that stand
//	GET  /api/sessions  what was recorded
//	POST /api/operator  one operator line, recorded before it is acknowledged
//	GET  /openapi.json  all of this for programs (OpenAPI 3.1)
//
// It reads the published state and never the core, so that no reader can hold
// up the work. There is no login yet; therefore it listens on this machine alone,
// answers only requests that name this machine (a page elsewhere may point its own
// name here) and takes no POST from another origin. Pages load nothing from
// elsewhere and run no inline script.
//
// Numbers are SI with the unit in their name, degrees WGS 84, times UTC; null is
// not known. The member shown of a state has the same figures as text in the
// units that the person chose.
package server
