package gauge

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"time"
)

// dialWithin is how long a connection may take to come about.
const dialWithin = 5 * time.Second

// tcpGauge is a gauge behind a TCP connection that carries its bytes as they are,
// as serial servers do.
type tcpGauge struct{ listener }

func newTCP(a Address, o Options) *tcpGauge { return &tcpGauge{newListener(a, o)} }

// Run implements [Gauge].
func (g *tcpGauge) Run(ctx context.Context, sink Sink) error {
	return g.run(ctx, sink, g.dial, func(err error) error {
		what := "the connection is gone"
		if errors.Is(err, io.EOF) {
			what = "the other side closed the connection"
		}
		return g.fault(FaultGone, what, err)
	})
}

func (g *tcpGauge) dial(ctx context.Context) (device, error) {
	dialer := net.Dialer{Timeout: dialWithin}
	conn, err := dialer.DialContext(ctx, "tcp", g.address.Target)
	if err != nil {
		return nil, g.fault(FaultAbsent, "nobody answers; check host and port, and that the serial server runs", err)
	}
	return &timedConn{conn}, nil
}

func (g *tcpGauge) fault(f Fault, what string, err error) error {
	return &PortError{Address: g.address, Fault: f, Err: err, text: fmt.Sprintf("gauge %s: %s (%v)", g.address, what, err)}
}

// timedConn reads like a serial port: 0 bytes and no error when nothing came.
type timedConn struct{ net.Conn }

func (c *timedConn) Read(p []byte) (int, error) {
	if err := c.SetReadDeadline(time.Now().Add(readTimeout)); err != nil {
		return 0, err
	}
	n, err := c.Conn.Read(p)
	if errors.Is(err, os.ErrDeadlineExceeded) {
		err = nil
	}
	return n, err
}
