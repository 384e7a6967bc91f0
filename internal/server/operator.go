package server

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"

	"drawbar/replay/statement"
)

// maxBody bounds an operator line: a boundary of tens of thousands of corners.
const maxBody = 1 << 20

// postOperator takes one operator line. All of it is acted on or, where any
// member is at fault, nothing.
func (s *Server) postOperator(w http.ResponseWriter, r *http.Request) {
	if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != "application/json" {
		s.fail(w, http.StatusUnsupportedMediaType, "an operator line is JSON: send it with Content-Type: application/json")
		return
	}
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxBody))
	if err != nil {
		if tooLarge := (*http.MaxBytesError)(nil); errors.As(err, &tooLarge) {
			s.fail(w, http.StatusRequestEntityTooLarge, fmt.Sprintf("an operator line has at most %d bytes; a boundary that long must be simplified first", maxBody))
			return
		}
		s.fail(w, http.StatusBadRequest, "the operator line did not arrive whole; send it again")
		return
	}
	if s.c.Operator == nil {
		s.fail(w, http.StatusConflict, "a recorded session is being shown: nothing can be said to it; add a correction to the session instead")
		return
	}
	op, faults := statement.ParseLine(body)
	if op.Correction() {
		faults = append(faults, laterStatement())
	}
	if len(faults) > 0 {
		s.fail(w, http.StatusUnprocessableEntity, "nothing was recorded: the operator line has faults", wireFaults(faults)...)
		return
	}
	var line bytes.Buffer
	if err := json.Compact(&line, body); err != nil { // a line in the recording has no line end
		s.fail(w, http.StatusUnprocessableEntity, "nothing was recorded: the operator line is not one JSON object")
		return
	}
	ctx, cancel := context.WithTimeout(r.Context(), sayTimeout)
	defer cancel()
	said, err := s.c.Operator.Say(ctx, line.Bytes())
	if err != nil {
		s.log.Warn("recording what the operator said failed", "error", err)
		s.fail(w, http.StatusServiceUnavailable, fmt.Sprintf("nothing was recorded: %v", err))
		return
	}
	s.answer(w, http.StatusOK, recordedJSON{Recorded: true, Mark: only(said.Mark, said.Mark > 0)})
}

type recordedJSON struct {
	Recorded bool `json:"recorded"`
	Mark     *int `json:"mark"`
}

// laterStatement is the fault of a correction: it is about a recorded session and
// never goes into one.
func laterStatement() (f statement.Fault) {
	f.Path, f.Got, f.Want = "from", "a correction", "what holds from now on; a correction is added to a recorded session, beside the recording"
	return f
}

func wireFaults(faults []statement.Fault) []faultJSON {
	var out []faultJSON
	for _, f := range faults {
		out = append(out, faultJSON{Member: f.Path, Got: f.Got, Want: f.Want})
	}
	return out
}
