package source

import (
	"context"
	"errors"
	"net"
	"os"
	"time"
)

const (
	// readWait is how long a read waits for a byte before it gives way.
	readWait = 50 * time.Millisecond
	// dialWait is how long a connection may take to come about.
	dialWait = 5 * time.Second
)

// port is an opened port. Read returns 0 and no error after readWait without a
// byte, and an error once the port is lost. All calls come from one goroutine.
type port interface {
	Read(b []byte) (int, error)
	SetBaud(baud int) error
	Close() error
}

// opener opens an address; baud counts for serial ports only.
type opener func(ctx context.Context, a Address, baud int) (port, error)

func openPort(ctx context.Context, a Address, baud int) (port, error) {
	switch a.Kind {
	case KindTCP:
		return openTCP(ctx, a.Place)
	case KindUDP:
		return openUDP(ctx, a.Place)
	default:
		return openSerial(a.Place, baud)
	}
}

// openTCP connects. A peer that lost its power, and so says nothing any more, is
// found out after about 11 s by probes of the system's own.
func openTCP(ctx context.Context, place string) (port, error) {
	d := net.Dialer{
		Timeout:         dialWait,
		KeepAliveConfig: net.KeepAliveConfig{Enable: true, Idle: 5 * time.Second, Interval: 2 * time.Second, Count: 3},
	}
	conn, err := d.DialContext(ctx, "tcp", place)
	if err != nil {
		return nil, err
	}
	return netPort{conn}, nil
}

// openUDP listens; a multicast group is joined.
func openUDP(ctx context.Context, place string) (port, error) {
	at, err := net.ResolveUDPAddr("udp", place)
	if err != nil {
		return nil, err
	}
	if at.IP.IsMulticast() {
		conn, err := net.ListenMulticastUDP("udp", nil, at)
		if err != nil {
			return nil, err
		}
		return netPort{conn}, nil
	}
	var l net.ListenConfig
	conn, err := l.ListenPacket(ctx, "udp", place)
	if err != nil {
		return nil, err
	}
	return netPort{conn.(*net.UDPConn)}, nil
}

// netPort is a connection or a listening socket.
type netPort struct{ net.Conn }

func (p netPort) Read(b []byte) (int, error) {
	if err := p.SetReadDeadline(time.Now().Add(readWait)); err != nil {
		return 0, err
	}
	n, err := p.Conn.Read(b)
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return n, nil
	}
	return n, err
}

func (netPort) SetBaud(int) error { return nil }
