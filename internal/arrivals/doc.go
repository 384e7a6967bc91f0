// Package arrivals keeps what came in on the ports in the last minute, so that a
// person can see it as it arrived, what was made of it and what is wrong with it,
// and can try a line profile on it before it is put into the configuration.
//
//	log := arrivals.New(&file)
//	log.Take(event)                        // on the core's goroutine, for each line
//	log.Sources(now, state.Sources)        // on any goroutine
//	log.Try([]byte(`{"kind":"delimited",…}`))
//
// Taking a line copies it into a ring of bounded size and does nothing else: lines
// are decoded when somebody looks.
package arrivals
