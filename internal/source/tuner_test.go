package source

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"drawbar/controller"
	"drawbar/replay"
)

// The bits are what this checks: at the right rate the text comes back.
func TestMisread(t *testing.T) {
	t.Parallel()
	const text = "$GPHDT,274.07,T*03\r\n"
	for _, rate := range usualBauds() {
		if got := misread(text, rate, rate); string(got) != text {
			t.Errorf("at %d: got %q", rate, got)
		}
		for _, other := range usualBauds() {
			if got := misread(text, rate, other); other != rate && string(got) == text {
				t.Errorf("sent at %d, read at %d: got the text", rate, other)
			}
		}
	}
}

func epoch() string {
	return sealed("GPGGA,130510.00,5322.1234,N,00001.2345,W,4,12,0.7,61.2,M,46.0,M,1.0,0001") + "\r\n" +
		sealed("GPRMC,130510.00,A,5322.1234,N,00001.2345,W,5.40,181.2,140526,,,R") + "\r\n"
}

// search runs a source on a device without a baud rate for a while of made-up
// time and returns what it then says, and the lines.
func search(t *testing.T, d *device, stream replay.Stream, valid func([]byte) bool, span time.Duration) (Status, []string) {
	t.Helper()
	d.began = time.Now()
	s, err := New(Config{Name: "port", Address: "/dev/ttyUSB0", Stream: stream, Valid: valid})
	if err != nil {
		t.Fatal(err)
	}
	s.open = d.open
	ctx, cancel := context.WithTimeout(t.Context(), span)
	defer cancel()
	out := make(chan replay.Event)
	done := make(chan error, 1)
	go func() { done <- s.Run(ctx, out) }()
	var lines []string
	for {
		select {
		case e := <-out:
			lines = append(lines, string(e.Line))
		case err := <-done:
			if err != nil {
				t.Errorf("Run: %v", err)
			}
			return s.Status(), lines
		}
	}
}

func profile(t *testing.T, spec controller.ProfileSpec) func([]byte) bool {
	t.Helper()
	p, problems := controller.Compile(spec, controller.Defaults{})
	if len(problems) > 0 {
		t.Fatalf("profile: %v", problems)
	}
	return ValidReport(p)
}

// Every usual rate is found for every kind of port that the format allows, in
// the time stated, and nothing that was read at a wrong rate is handed on.
func TestBaudSearch(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		name   string
		stream replay.Stream
		valid  func(t *testing.T) func([]byte) bool
		every  time.Duration
		text   string
		within time.Duration
	}{
		{"receiver at 1 Hz", replay.StreamGNSS, nil, time.Second, epoch(), 40 * time.Second},
		{"receiver at 10 Hz", replay.StreamGNSS, nil, 100 * time.Millisecond, epoch(), 20 * time.Second},
		{"receiver that sends one sentence a second", replay.StreamGNSS, nil, time.Second, sealed("GPHDT,274.07,T") + "\r\n", 40 * time.Second},
		{"controller at 5 Hz", replay.StreamController, func(t *testing.T) func([]byte) bool { return profile(t, controller.ProfileSpec{}) },
			200 * time.Millisecond, "work=1 sections=1111 tank.1.rate=112.5kg/ha*1F\r\n", 30 * time.Second},
		{"controller at 0.2 Hz", replay.StreamController, func(t *testing.T) func([]byte) bool { return profile(t, controller.ProfileSpec{}) },
			5 * time.Second, "work=1 sections=1111 tank.1.rate=112.5kg/ha\r\n", 150 * time.Second},
		{"controller whose lines the profile refuses", replay.StreamController, func(t *testing.T) func([]byte) bool { return profile(t, controller.ProfileSpec{}) },
			time.Second, "12,34.5,0001,READY\r\n", 60 * time.Second},
		{"controller that ends lines with CR alone", replay.StreamController, func(t *testing.T) func([]byte) bool { return profile(t, controller.ProfileSpec{}) },
			time.Second, "work=1 sections=1111\r", 60 * time.Second},
	} {
		for _, rate := range usualBauds() {
			t.Run(fmt.Sprintf("%s at %d", tc.name, rate), func(t *testing.T) {
				t.Parallel()
				if len(tc.text)*10*int(time.Second)/rate > int(tc.every) {
					t.Skip("more than the line can carry")
				}
				synctest.Test(t, func(t *testing.T) {
					var valid func([]byte) bool
					if tc.valid != nil {
						valid = tc.valid(t)
					}
					d := &device{every: tc.every, at: func(time.Duration) (int, string) { return rate, tc.text }}
					began := time.Now()
					s, lines := search(t, d, tc.stream, valid, tc.within)
					if s.Searching || s.Baud != rate {
						t.Fatalf("after %v: got %+v, want %d baud", time.Since(began), s, rate)
					}
					for _, line := range lines {
						if !slices.Contains([]string{tc.text[:len(tc.text)-1], tc.text[:len(tc.text)-2]}, line) && tc.stream == replay.StreamController {
							t.Errorf("handed on %q", line)
						}
					}
					if len(lines) == 0 {
						t.Error("no line was handed on")
					}
				})
			})
		}
	}
}

// Silence settles nothing and noise neither; no line is handed on.
func TestBaudSearchFindsNothing(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	for _, tc := range []struct {
		name   string
		text   func() string
		rounds int // at least, in two minutes
	}{
		{"silence", func() string { return "" }, 2},
		{"noise", func() string {
			b := make([]byte, 100)
			for i := range b {
				b[i] = byte(r.Uint32())
			}
			return string(b)
		}, 3},
	} {
		t.Run(tc.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				d := &device{every: 100 * time.Millisecond, at: func(time.Duration) (int, string) { return 115200, tc.text() }}
				s, lines := search(t, d, replay.StreamGNSS, nil, 2*time.Minute)
				if !s.Searching || s.Rounds < tc.rounds || len(lines) > 0 {
					t.Errorf("got %+v and %d lines, want a search in its round %d or later, and no line", s, len(lines), tc.rounds)
				}
			})
		})
	}
}

// A receiver that is set to another rate, and one whose line is noise for a
// while, are found again.
func TestBaudSearchAgain(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		name   string
		at     func(since time.Duration) (int, string)
		within time.Duration
		want   int
	}{
		{"another rate", func(since time.Duration) (int, string) {
			if since < 30*time.Second {
				return 9600, epoch()
			}
			return 57600, epoch()
		}, 60 * time.Second, 57600},
		{"noise for 20 s", func(since time.Duration) (int, string) {
			if since > 30*time.Second && since < 50*time.Second {
				return 38400, string(misread(epoch(), 38400, 9600))
			}
			return 38400, epoch()
		}, 90 * time.Second, 38400},
		{"noise for 3 s is lived with", func(since time.Duration) (int, string) {
			if since > 30*time.Second && since < 33*time.Second {
				return 38400, string(misread(epoch(), 38400, 9600))
			}
			return 38400, epoch()
		}, 34 * time.Second, 38400},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			synctest.Test(t, func(t *testing.T) {
				d := &device{every: 500 * time.Millisecond, at: tc.at}
				if s, _ := search(t, d, replay.StreamGNSS, nil, tc.within); s.Searching || s.Baud != tc.want {
					t.Errorf("got %+v, want %d baud", s, tc.want)
				}
			})
		})
	}
}

// On a real pseudo-terminal, which takes every rate, the first one tried is kept.
func TestBaudSearchOnATerminal(t *testing.T) {
	t.Parallel()
	name := link(t)
	p := plug(t, name)
	r := start(t, Config{Address: name})
	a := sealed("GPHDT,1.0,T")
	for range validEnough {
		p.write(a + "\r\n")
		r.want(a)
	}
	s := r.until("settled", func(s Status) bool { return s.Up && !s.Searching })
	if s.Baud != usualBauds()[0] {
		t.Errorf("got %d baud, want the first one tried", s.Baud)
	}
}

// A device that comes back is taken to have the rate that it had: its first line
// is handed on, good or not.
func TestRateIsKeptOverALoss(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		good := sealed("GPHDT,1.0,T")
		ports := []*script{
			{chunks: []string{"noise\n", good + "\n", good + "\n", good + "\n"}, end: errors.New("lost")},
			{chunks: []string{"$GPGGA,cut\n"}},
		}
		s, err := New(Config{Name: "gnss", Address: "/dev/ttyUSB0"})
		if err != nil {
			t.Fatal(err)
		}
		var opened []int
		s.open = func(_ context.Context, _ Address, baud int) (port, error) {
			p := ports[len(opened)]
			opened = append(opened, baud)
			return p, nil
		}
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		out := make(chan replay.Event, 9)
		if err := s.Run(ctx, out); err != nil {
			t.Fatal(err)
		}
		close(out)
		var lines []string
		for e := range out {
			lines = append(lines, string(e.Line))
		}
		if want := []string{good, good, good, "$GPGGA,cut"}; !slices.Equal(lines, want) {
			t.Errorf("got %q, want %q", lines, want)
		}
		if st := s.Status(); len(opened) != 2 || opened[1] != st.Baud || st.Searching || st.Dropped != 1 {
			t.Errorf("opened at %v, got %+v", opened, st)
		}
	})
}
