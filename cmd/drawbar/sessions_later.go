package main

import (
	"encoding/json"
	"fmt"
	"io"
	"time"

	"drawbar/internal/store"
	"drawbar/replay/statement"
)

// showLater prints what was said later about a session, with the numbers by which it
// can be taken back.
func showLater(w io.Writer, file string) error {
	lines, faults, err := store.Later(file)
	if err != nil {
		return err
	}
	if len(lines) == 0 && len(faults) == 0 {
		return nil
	}
	fmt.Fprintln(w, "said later:")
	by := statement.TakenBack(lines)
	for i, l := range lines {
		what := ""
		switch {
		case l.Undo != 0:
			what = fmt.Sprintf("takes back %d", l.Undo)
		case l.Correction():
			if what, err = corrected(l.Operator); err != nil {
				return err
			}
		default:
			what = "does not act"
		}
		if l.Why != nil {
			what += "; " + *l.Why
		}
		if l.By != nil {
			what += "; " + *l.By
		}
		if by[i] != 0 {
			what += fmt.Sprintf(" (taken back by %d)", by[i])
		}
		fmt.Fprintf(w, "  %d  %s\n", l.Number, printable(what))
	}
	for _, f := range faults {
		fmt.Fprintf(w, "  %s\n", printable(f))
	}
	return nil
}

// maxCorrected is how much of a correction is shown, in bytes: a boundary is long.
const maxCorrected = 200

// corrected is a correction in one line: its time and what was so.
func corrected(op statement.Operator) (string, error) {
	span := op.From.UTC().Format(time.RFC3339) + " to " + op.To.UTC().Format(time.RFC3339)
	op.From, op.To, op.Why, op.By, op.Made = nil, nil, nil, nil, nil
	text, err := json.Marshal(op)
	if err != nil {
		return "", fmt.Errorf("show a correction: %w", err)
	}
	if len(text) > maxCorrected {
		text = append(text[:maxCorrected], "…"...)
	}
	return span + " " + string(text), nil
}
