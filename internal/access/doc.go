// Package access decides who may read and write the daemon over HTTP.
//
// Whoever works on the board itself is free: a request that comes over the
// loopback interface and names a loopback host may do everything. From anywhere
// else a device must be paired once. The board shows a code of eight digits,
//
//	stranger                     board
//	GET  /api/access       ->    shows 4071-2295 on its console, for ten minutes
//	POST /api/access/pair  ->    code right: the device is kept in devices.json
//	     {"code":"4071-2295"}    and gets a token, as the cookie drawbar_device
//
// and the token, 256 random bits, lets the device in until it is revoked. Only
// the token's SHA-256 is stored. Programs send the same token as
// "Authorization: Bearer TOKEN"; it is never part of an address.
//
// A device is an operator, who reads and writes, a viewer, who reads, or a helper,
// who may send the few requests that Config.Helper names: a second person, often hired
// for a day, to whom the farm's work is not shown. Anyone else gets the page's own files, GET /api/access and POST /api/access/pair:
// enough to pair, nothing of the farm. That holds for /metrics, /healthz and
// /openapi.json too.
//
//	mux := …                            // the daemon's own handlers
//	gate, err := access.New(access.Config{File: "data/devices.json", Public: isPageFile})
//	server := http.Server{Handler: gate.Wrap(mux)}
//	server.Serve(gate.Limit(listener))
//
// What a request may do is decided from its connection and its token alone. A
// header that says for whom a request was passed on (Forwarded, X-Forwarded-For)
// never lets anybody in; over loopback it takes the freedom away, for a proxy on
// the board speaks for others.
//
// Without TLS whoever can listen on the network can read what passes, the token
// too: pairing keeps strangers out, not eavesdroppers.
//
// Rules followed: codes and tries, OWASP ASVS 4.0, 2.2.1 and V2.7, but for 2.7.5, as
// the board has to show its code and so cannot keep a hash alone; sessions, ASVS
// V3.1 to V3.4, from memory, but for 3.3.2: a screen in a cab is not asked again
// twice a day; cookies, RFC 6265bis (draft 14), section 5.5; status codes, RFC 9110,
// section 15.5, and RFC 6585, section 4 (429), from memory.
package access
