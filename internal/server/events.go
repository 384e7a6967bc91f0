package server

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"os"
	"strconv"
	"strings"
	"time"

	"drawbar/internal/live"

	"github.com/danielgtaylor/huma/v2"
)

// Times of an event stream.
const (
	stateEvery   = 100 * time.Millisecond // at most so often
	beatEvery    = 10 * time.Second       // a comment where nothing else was sent
	eventTimeout = 5 * time.Second        // a client that takes nothing for so long is cut
	retryMS      = 1000                   // after which a client shall come back
)

func (s *Server) eventsAPI(a *api) {
	text := &huma.Schema{Type: huma.TypeString}
	a.plain(endpoint{
		method: "GET", path: "/events", id: "events", summary: "Live events", done: "A stream that ends when the daemon stops.",
		text: "Server-sent events: state (State, at most ten a second), work (WorkEvent, before the state whose tiles may have it), redraw (Redraw), alarm (AlarmEvent), mark (MarkEvent), missed (Missed). A comment is sent where nothing else was for ten seconds. A client that is too slow is cut off and may come back.",
		fails: map[int]string{
			http.StatusServiceUnavailable:  "Too many readers, or the daemon is stopping.",
			http.StatusUnprocessableEntity: "The address has faults.",
		},
	}, "", textContent("text/event-stream"), s.events,
		&huma.Param{Name: "Last-Event-ID", In: "header", Description: "The id of the event received last: alarms and marks since then are sent again.", Schema: text},
		&huma.Param{Name: "work", In: "query", Description: "Number of the last piece of work that the client has: those since are sent, or a redraw where some are kept no more. Left out: only what is worked from now on.", Schema: &huma.Schema{Type: huma.TypeInteger}},
	)
}

// events streams the state and what happens until the client goes or is too slow.
//
// Every event has the id RUN-N, N being the last notice that was sent before it or
// with it. A client that comes back with it gets the notices since; where the
// daemon was started anew in between, those of the new run.
//
// The pieces of work have numbers of their own, which begin anywhere in each run: a
// client that comes back with the number of another run is seen to have missed some.
func (s *Server) events(w http.ResponseWriter, r *http.Request) {
	work, has, err := lastWork(r)
	if err != nil {
		s.fail(w, refuse(http.StatusUnprocessableEntity, "%v", err))
		return
	}
	sub, err := s.c.Hub.Subscribe(s.after(r.Header.Get("Last-Event-ID")))
	if err != nil {
		if errors.Is(err, live.ErrFull) {
			s.log.Info("a reader of the events was refused", "error", err)
		}
		s.fail(w, refuse(http.StatusServiceUnavailable, "%v", err))
		return
	}
	defer sub.Close()
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("X-Accel-Buffering", "no")
	if r.Method == http.MethodHead {
		return
	}
	e := stream{s: s, to: w, control: http.NewResponseController(w), seq: sub.Seen, work: s.c.Hub.LastWork()}
	if has {
		e.work, e.behind = work-s.firstWork, work < s.firstWork
	}
	if err := e.control.SetReadDeadline(time.Time{}); err != nil { // the request is read; a stream has no end
		s.fail(w, refuse(http.StatusInternalServerError, "this connection cannot be streamed to"))
		return
	}
	err = e.run(r, sub)
	if errors.Is(err, os.ErrDeadlineExceeded) {
		err = errSlow
	}
	if errors.Is(err, errSlow) || err != nil && r.Context().Err() == nil { // else it has gone by itself
		s.log.Info("a reader of the events was cut off", "error", err)
	}
}

// lastWork is the piece of work that a client had last.
func lastWork(r *http.Request) (number uint64, has bool, err error) {
	text := r.URL.Query().Get("work")
	if text == "" {
		return 0, false, nil
	}
	if number, err = strconv.ParseUint(text, 10, 64); err != nil {
		return 0, false, fmt.Errorf("work=%s: want the number of the last piece of work, or nothing", clip(text))
	}
	return number, true, nil
}

// after is the notice that a client had last.
func (s *Server) after(id string) uint64 {
	if id == "" {
		return live.LatestNotice
	}
	run, number, _ := strings.Cut(id, "-")
	n, err := strconv.ParseUint(number, 10, 64)
	if run != s.run || err != nil {
		return 0
	}
	return n
}

// stream is one client's.
type stream struct {
	s       *Server
	to      http.ResponseWriter
	control *http.ResponseController
	buffer  bytes.Buffer
	seq     uint64       // of the notice sent last
	work    uint64       // number of the piece of work sent last
	behind  bool         // pieces were missed, and a redraw is due
	pieces  []live.Piece // for the next event
	text    []byte       // of the last event of work
}

// errSlow is why a client was cut that takes nothing, or less than there is.
var errSlow = errors.New("it did not take the events as fast as they came")

func (e *stream) run(r *http.Request, sub *live.Subscription) error {
	fmt.Fprintf(&e.buffer, "retry: %d\n\n", retryMS)
	if sub.Missed > 0 {
		if err := e.put("missed", missedJSON{Notices: sub.Missed}); err != nil {
			return err
		}
	}
	for _, n := range sub.Backlog {
		if err := e.notice(n); err != nil {
			return err
		}
	}
	if err := e.flush(); err != nil {
		return err
	}
	fresh := sub.Fresh()
	pause := time.NewTimer(0)
	beat := time.NewTimer(beatEvery)
	defer pause.Stop()
	defer beat.Stop()
	for {
		select {
		case <-r.Context().Done():
			return nil
		case <-e.s.quit:
			return nil
		case n, open := <-sub.Notices():
			if !open {
				if e.s.c.Hub.Closed() {
					return nil
				}
				return errSlow
			}
			if err := e.notice(n); err != nil {
				return err
			}
		case <-fresh:
			if err := e.state(); err != nil {
				return err
			}
			fresh = nil
			pause.Reset(stateEvery)
		case <-pause.C:
			fresh = sub.Fresh()
			continue
		case <-beat.C:
			e.buffer.WriteString(": beat\n\n")
		}
		if err := e.flush(); err != nil {
			return err
		}
		beat.Reset(beatEvery)
	}
}

// flush sends what was put. The client has eventTimeout to take it.
func (e *stream) flush() error {
	if err := e.control.SetWriteDeadline(time.Now().Add(eventTimeout)); err != nil {
		return err
	}
	_, err := e.to.Write(e.buffer.Bytes())
	e.buffer.Reset()
	if err != nil {
		return err
	}
	return e.control.Flush()
}

func (e *stream) state() error {
	state, _ := e.s.c.Hub.Read()
	if state == nil {
		return nil
	}
	b, err := e.s.stateBytes(state)
	if err != nil {
		return err
	}
	if err := e.works(state); err != nil { // before the state that tells which tiles have them
		return err
	}
	e.event("state", b)
	return nil
}

func (e *stream) notice(n live.Notice) error {
	e.seq = n.Seq
	switch {
	case n.Alarm != nil:
		return e.put("alarm", alarmEventJSON{Seq: n.Seq, Time: stamp(n.At), Raised: n.Alarm.Raised, Alarm: wireAlarm(n.Alarm.AlarmState)})
	case n.Mark != nil:
		return e.put("mark", markEventJSON{Seq: n.Seq, Time: stamp(n.At), Mark: wireMark(n.Mark), Undone: n.Undone})
	}
	return nil
}

func (e *stream) put(name string, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("encode an event: %w", err)
	}
	e.event(name, b)
	return nil
}

// event writes one event; data is JSON and so has no line end.
func (e *stream) event(name string, data []byte) {
	fmt.Fprintf(&e.buffer, "id: %s-%d\nevent: %s\ndata: ", e.s.run, e.seq, name)
	e.buffer.Write(data)
	e.buffer.WriteString("\n\n")
}
