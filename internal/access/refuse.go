package access

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"time"
)

// Error is a refusal: an HTTP status and words for people that say what to do.
type Error struct {
	Status     int
	Text       string
	RetryAfter time.Duration // 0: nothing to wait for
}

// Error returns the words.
func (e *Error) Error() string { return e.Text }

// Headers adds what the status asks for, see RFC 9110: a challenge with 401
// (section 15.5.2) and the wait with 429 and 503 (section 10.2.3).
func (e *Error) Headers(h http.Header) {
	if e.Status == http.StatusUnauthorized {
		h.Set("WWW-Authenticate", `Bearer realm="drawbar"`)
	}
	if e.RetryAfter > 0 {
		h.Set("Retry-After", strconv.Itoa(int(math.Ceil(e.RetryAfter.Seconds()))))
	}
}

func refuse(status int, format string, args ...any) *Error {
	return &Error{Status: status, Text: fmt.Sprintf(format, args...)}
}

// write answers with the error as the daemon's other answers have it.
func (e *Error) write(w http.ResponseWriter) {
	h := w.Header()
	e.Headers(h)
	h.Set("Content-Type", "application/json")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Cache-Control", "no-store")
	w.WriteHeader(e.Status)
	_ = json.NewEncoder(w).Encode(struct { // the client is gone: nobody to tell
		Error  string     `json:"error"`
		Faults []struct{} `json:"faults"`
	}{e.Text, []struct{}{}})
}

// clip keeps what a client sent from filling an answer.
func clip(text string) string {
	if len(text) > 100 {
		text = text[:100] + "…"
	}
	return strconv.QuoteToASCII(text)
}
