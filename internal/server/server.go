package server

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"net"
	"net/http"
	"strconv"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"drawbar/internal/access"
	"drawbar/internal/catalog"
	"drawbar/internal/live"
	"drawbar/internal/recent"
	"drawbar/internal/records"
	"drawbar/internal/units"
	"drawbar/nmea"
)

// Config is what a Server needs. Hub is needed, everything else may be left out:
// what is then asked for is answered in words.
type Config struct {
	Listen     string // host:port; on this machine where Access is nil; port 0 takes a free one
	Within     bool   // it only answers what another server passes on, which guards it: it listens nowhere
	Hub        *live.Hub
	Metrics    prometheus.Gatherer // nil: /metrics is empty
	Access     *access.Gate        // who may do what; nil: this machine alone, and everything
	Operator   Sayer               // nil: nothing can be said, as while a recorded session is shown
	Sessions   Lister              // nil: there are none
	Records    *records.Index      // nil: no recorded work is known
	Tiles      Tiler               // nil: no map
	Fields     Fields              // nil: none are known
	FieldsFile string              // where the known fields are from; empty: nowhere
	Catalog    *catalog.Catalog    // nil: there is none
	// CatalogChanged is called after each change of an item through the server, before
	// it is answered, and with a field after an import; nil: nobody is told.
	CatalogChanged func(ctx context.Context, of catalog.Kind) error
	Marks          Marks          // of all sessions; nil: there are none
	Outline        Outliner       // nil: no outline of the work
	Drive          Driver         // nil: no boundary can be driven
	Alarms         Acknowledger   // nil: no alarm can be acknowledged
	Replay         Steerer        // nil: it is a live run
	Arrivals       Arrivals       // nil: nothing arrives
	Units          units.System   // of what is shown as text
	Timezone       *time.Location // the same; nil = UTC
	Log            *slog.Logger   // nil: silent

	Recent     *recent.Book // what was used last; nil: nothing
	MinQuality nmea.Quality // of a position; below it nothing is painted

	Past Past   // nil: no recorded session can be looked at
	Mend Mender // nil: none can be corrected
}

// Times that bound what a client may take.
const (
	headerTimeout = 5 * time.Second
	bodyTimeout   = 15 * time.Second
	answerTimeout = 30 * time.Second
	idleTimeout   = 2 * time.Minute
	stopTimeout   = time.Second // for answers that are being written at the end
	sayTimeout    = 5 * time.Second
	maxHeader     = 16 << 10
)

// Server is the HTTP server. Use New, then Listen, then Run.
type Server struct {
	c        Config
	log      *slog.Logger
	handler  http.Handler
	index    http.HandlerFunc // the page
	run      string           // tells this run's events from those of another
	quit     chan struct{}
	stop     sync.Once
	listener net.Listener
	state    stateCache
	land     landCache

	description func() ([]byte, error) // of all addresses
	firstWork   uint64                 // number before the first piece of work, as clients see it
	pieces      pieceCache
	packers     sync.Pool
}

// New checks the configuration. The error says what to do.
func New(c Config) (*Server, error) {
	if c.Hub == nil {
		return nil, errors.New("set up the server: no hub to read from")
	}
	if !c.Within {
		if err := checkListen(c.Listen, c.Access != nil); err != nil {
			return nil, err
		}
	}
	if c.Timezone == nil {
		c.Timezone = time.UTC
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	if c.Metrics == nil {
		c.Metrics = prometheus.NewRegistry()
	}
	s := &Server{c: c, log: c.Log, quit: make(chan struct{}), run: strconv.FormatInt(time.Now().UnixNano(), 36)}
	s.firstWork = rand.Uint64N(1 << 52) // so that clients of another run are seen; exact in JavaScript
	s.packers.New = newPacker
	routes, err := s.routes()
	if err != nil {
		return nil, err
	}
	s.handler = routes
	if !c.Within {
		s.handler = s.guard(routes)
	}
	return s, nil
}

// Handler answers all requests.
func (s *Server) Handler() http.Handler { return s.handler }

// Listen opens the port and returns its address.
func (s *Server) Listen(ctx context.Context) (net.Addr, error) {
	var lc net.ListenConfig
	l, err := lc.Listen(ctx, "tcp", s.c.Listen)
	if err != nil {
		return nil, fmt.Errorf("listen on %s: %w; set server.listen to a free port", s.c.Listen, err)
	}
	if s.c.Access != nil {
		s.listener = s.c.Access.Limit(l)
		return l.Addr(), nil
	}
	if a, ok := l.Addr().(*net.TCPAddr); !ok || !a.IP.IsLoopback() {
		err := notThisMachine(s.c.Listen)
		return nil, errors.Join(err, l.Close())
	}
	s.listener = l
	return l.Addr(), nil
}

// Run serves until ctx ends and returns when everything has ended: event streams
// at once, other answers within a second. It listens first if Listen was not
// called.
func (s *Server) Run(ctx context.Context) error {
	if s.listener == nil {
		if _, err := s.Listen(ctx); err != nil {
			return err
		}
	}
	return s.serve(ctx, s.listener)
}

func (s *Server) serve(ctx context.Context, l net.Listener) error {
	srv := &http.Server{
		Handler:           s.handler,
		ReadHeaderTimeout: headerTimeout,
		ReadTimeout:       bodyTimeout,
		WriteTimeout:      answerTimeout,
		IdleTimeout:       idleTimeout,
		MaxHeaderBytes:    maxHeader,
		ErrorLog:          slog.NewLogLogger(s.log.Handler(), slog.LevelDebug),
	}
	served := make(chan error, 1)
	go func() { served <- srv.Serve(l) }()
	s.log.Info("server listens", "address", l.Addr().String())
	select {
	case err := <-served:
		s.end()
		return fmt.Errorf("serve %s: %w", l.Addr(), err)
	case <-ctx.Done():
	}
	s.end()
	bounded, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopTimeout)
	defer cancel()
	err := srv.Shutdown(bounded)
	if err != nil {
		err = srv.Close()
	}
	<-served
	if err != nil {
		return fmt.Errorf("stop the server: %w", err)
	}
	return nil
}

// End ends the event streams of a server that stands within another.
func (s *Server) End() { s.end() }

// end ends the event streams.
func (s *Server) end() { s.stop.Do(func() { close(s.quit) }) }
