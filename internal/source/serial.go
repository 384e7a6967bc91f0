package source

import (
	"errors"
	"os"
	"time"

	"go.bug.st/serial"
)

// goneEvery is how often a quiet serial port is looked for in its place.
const goneEvery = time.Second

var (
	// errGone is a port that gives no error, but whose device is no longer in
	// its place, or another one is.
	errGone      = errors.New("the device is gone from its place")
	errNotSerial = errors.New("it is no serial port")
)

// serialPort is a serial port, eight bits, no parity, one stop bit.
type serialPort struct {
	serial.Port
	path   string
	device os.FileInfo // what stood at path when it was opened
	quiet  time.Duration
}

func openSerial(path string, baud int) (port, error) {
	device, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if device.Mode()&os.ModeCharDevice == 0 {
		return nil, errNotSerial
	}
	p, err := serial.Open(path, serialMode(baud))
	if err != nil {
		return nil, err
	}
	if err := p.SetReadTimeout(readWait); err != nil {
		return nil, errors.Join(err, p.Close())
	}
	return &serialPort{Port: p, path: path, device: device}, nil
}

func serialMode(baud int) *serial.Mode {
	return &serial.Mode{BaudRate: baud, DataBits: 8, Parity: serial.NoParity, StopBits: serial.OneStopBit}
}

func (p *serialPort) Read(b []byte) (int, error) {
	n, err := p.Port.Read(b)
	if n > 0 || err != nil {
		p.quiet = 0
		return n, err
	}
	if p.quiet += readWait; p.quiet >= goneEvery {
		p.quiet = 0
		if !sameDevice(p.device, deviceAt(p.path)) {
			return 0, errGone
		}
	}
	return 0, nil
}

// SetBaud changes the rate and forgets what had been read at the old one.
func (p *serialPort) SetBaud(baud int) error {
	if err := p.SetMode(serialMode(baud)); err != nil {
		return err
	}
	return p.ResetInputBuffer()
}

// deviceAt is what stands at path, nil if nothing does.
func deviceAt(path string) os.FileInfo {
	info, err := os.Stat(path)
	if err != nil {
		return nil
	}
	return info
}

func sameDevice(a, b os.FileInfo) bool {
	if a == nil || b == nil {
		return a == nil && b == nil
	}
	return os.SameFile(a, b)
}
