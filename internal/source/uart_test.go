package source

import (
	"context"
	"time"
)

// misread is what a receiver set to the rate to makes of text that was sent at
// the rate from: a start bit, eight bits with the lowest first, a stop bit, and
// samples in the middle of where the receiver believes the bits to be.
func misread(text string, from, to int) []byte {
	level := func(t float64) bool { // t seconds after the text began
		bit := int(t * float64(from))
		if t < 0 || bit >= 10*len(text) {
			return true // idle
		}
		switch n := bit % 10; n {
		case 0:
			return false
		case 9:
			return true
		default:
			return text[bit/10]>>(n-1)&1 == 1
		}
	}
	var got []byte
	step := 1 / (8 * float64(max(from, to)))
	for t := 0.0; t < float64(10*len(text)+1)/float64(from); t += step {
		if level(t) {
			continue
		}
		var c byte
		for bit := range 8 {
			if level(t + (1.5+float64(bit))/float64(to)) {
				c |= 1 << bit
			}
		}
		got = append(got, c)
		t += 9.5 / float64(to)
	}
	return got
}

// device sends a text again and again; rate and text may depend on the moment.
type device struct {
	began time.Time
	every time.Duration
	at    func(since time.Duration) (rate int, text string)
}

// talker is the port that a device is on. It must run in a synctest bubble: it
// waits by sleeping.
type talker struct {
	*device
	baud  int
	next  time.Time
	ready []byte
}

func (d *device) open(_ context.Context, _ Address, baud int) (port, error) {
	return &talker{device: d, baud: baud, next: time.Now()}, nil
}

func (p *talker) Read(b []byte) (int, error) {
	if len(p.ready) == 0 {
		rate, text := p.at(p.next.Sub(p.began))
		end := p.next.Add(time.Duration(10 * len(text) * int(time.Second) / rate))
		if wait := time.Until(end); wait > readWait {
			time.Sleep(readWait)
			return 0, nil
		} else if wait > 0 {
			time.Sleep(wait)
		}
		p.next = p.next.Add(p.every)
		p.ready = misread(text, rate, p.baud)
	}
	n := copy(b, p.ready)
	p.ready = p.ready[n:]
	return n, nil
}

func (p *talker) SetBaud(baud int) error {
	p.baud, p.ready = baud, nil
	return nil
}

func (p *talker) Close() error { return nil }
