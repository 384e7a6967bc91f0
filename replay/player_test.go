package replay

import (
	"errors"
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

func capture(lines ...string) Source {
	return NewCaptureReader(strings.NewReader(strings.Join(lines, "\n")+"\n"), "x.capture")
}

// keep returns a sink that keeps the lines it is handed.
func keep(lines *[]string) func(Event) error {
	return func(e Event) error {
		*lines = append(*lines, string(e.Line))
		return nil
	}
}

func TestPlayerPlaysSourcesInOrder(t *testing.T) {
	t.Parallel()
	var got []string
	err := Player{}.Play(keep(&got),
		capture("2026-05-14T13:05:11Z gnss a", "2026-05-14T13:05:10Z gnss b"),
		capture(),
		capture("2025-05-14T13:05:10Z operator c"))
	if want := []string{"a", "b", "c"}; err != nil || !slices.Equal(got, want) {
		t.Errorf("played %v, %v, want %v", got, err, want)
	}
}

func TestPlayerPace(t *testing.T) {
	t.Parallel()
	lines := []string{
		"2026-05-14T13:05:10.000Z gnss a",
		"2026-05-14T13:05:10.500Z gnss b",
		"2026-05-14T13:05:10.500Z gnss c", // at once
		"2026-05-14T13:05:09.000Z gnss d", // the clock stepped back
		"2026-05-14T13:05:11.000Z gnss e",
		"2036-05-14T13:05:11.000Z gnss f", // the clock was set
	}
	tests := []struct {
		pace float64
		want []time.Duration
	}{
		{1, []time.Duration{500 * time.Millisecond, 2 * time.Second, 10 * time.Second}},
		{4, []time.Duration{125 * time.Millisecond, 500 * time.Millisecond, 10 * time.Second}},
		{0.25, []time.Duration{2 * time.Second, 8 * time.Second, 10 * time.Second}},
		{0, nil},
	}
	for _, tt := range tests {
		var waits []time.Duration
		var got []string
		p := Player{Pace: tt.pace, Wait: func(d time.Duration) { waits = append(waits, d) }}
		err := p.Play(keep(&got), capture(lines...))
		if err != nil || strings.Join(got, "") != "abcdef" {
			t.Errorf("pace %v: played %v, %v", tt.pace, got, err)
		}
		if diff := cmp.Diff(tt.want, waits); diff != "" {
			t.Errorf("pace %v: waits (-want +got):\n%s", tt.pace, diff)
		}
	}
}

func TestPlayerDamage(t *testing.T) {
	t.Parallel()
	source := func() Source {
		return capture("2026-05-14T13:05:10Z gnss a", "noise", `2026-05-14T13:05:10Z gnss \x`, "2026-05-14T13:05:10Z gnss b")
	}
	var got []string
	var corrupt *CorruptError
	if err := (Player{}).Play(keep(&got), source()); !errors.As(err, &corrupt) || corrupt.Line != 2 || strings.Join(got, "") != "a" {
		t.Errorf("without Damaged: %v after %v, want the damage of line 2 after a", err, got)
	}

	got = nil
	var lines []int
	p := Player{Damaged: func(e *CorruptError) error { lines = append(lines, e.Line); return nil }}
	if err := p.Play(keep(&got), source()); err != nil || strings.Join(got, "") != "ab" || !slices.Equal(lines, []int{2, 3}) {
		t.Errorf("passing over: %v, %v, damage in lines %v", got, err, lines)
	}

	enough := errors.New("enough")
	p.Damaged = func(*CorruptError) error { return enough }
	if err := p.Play(keep(&got), source()); err != enough {
		t.Errorf("Damaged that refuses: %v, want its error", err)
	}
}

func TestPlayerSinkErrors(t *testing.T) {
	t.Parallel()
	source := func() Source { return capture("2026-05-14T13:05:10Z gnss a", "2026-05-14T13:05:10Z gnss b") }
	n := 0
	if err := (Player{}).Play(func(Event) error { n++; return ErrStop }, source(), source()); err != nil || n != 1 {
		t.Errorf("sink that stops: %v after %d events, want no error after 1", err, n)
	}
	if err := (Player{}).Play(func(Event) error { return io.ErrClosedPipe }, source()); err != io.ErrClosedPipe {
		t.Errorf("sink that fails: %v, want its error", err)
	}
}
