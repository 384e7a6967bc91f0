// Package server shows a running session over HTTP and takes what the operator
// says.
//
//	GET  /                       the page, built from internal/web
//	GET  /metrics                Prometheus text
//	GET  /healthz                200 while the core works, 503 when it does not
//	GET  /events                 server-sent events: state, work, redraw, alarm, mark
//	GET  /tiles/LAYER/Z/X/Y.mvt  the work as vector tiles
//	GET  /api/…                  what is known: state, sources, alarms, fields, arrivals, …
//	POST /api/operator           one operator line, recorded before it is acknowledged
//	POST /api/…                  what else can be wished for
//	GET  /openapi.json           all of this for programs (OpenAPI 3.1)
//
// The description is made from the Go types and their tags (wire*.go); the page's
// own types are made from it, so testdata/openapi.json keeps it. Members are added
// to it and never change their meaning.
//
// It reads the published state and never the core, so that no reader can hold up
// the work; what is wished for goes through the small interfaces of Config, with a
// time limit. Everything that many look at is encoded once: the state, each piece
// of work.
//
//	core --Publish--> live.Hub --> state as JSON, once --+--> stream of a viewer
//	     --AddWork-->          --> each piece, once -----+--> stream of a viewer
//
// Who may do what is for package access; without it this machine alone is served,
// and only requests that name this machine (a page elsewhere may point its own name
// here). Nothing is taken from another origin. The page loads nothing from elsewhere
// and runs no inline script.
//
// Numbers are SI with the unit in their name, degrees WGS 84, times UTC; null is
// not known. The member shown of a state has the same figures as text in the
// units that the person chose.
package server
