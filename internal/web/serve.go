package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"sync"
	"time"

	"golang.org/x/net/netutil"

	"boretight/internal/web/certificate"
)

const (
	// maxConnections keeps browsers from using up descriptors: a serial port whose
	// descriptor is 1024 or more cannot be read (it waits with select).
	maxConnections = 200
	// headerTimeout is for a request's header; the page's own take milliseconds.
	headerTimeout = 5 * time.Second
	// answerTimeout is for a whole answer other than the live stream.
	answerTimeout = 30 * time.Second
	// idleTimeout closes connections that nobody uses.
	idleTimeout = 90 * time.Second
	// shutdownTimeout is how long answers under way may take after the end is asked for.
	shutdownTimeout = 3 * time.Second
)

// Serve answers requests from l until ctx ends, then ends the live streams, lets
// the other answers finish, and returns nil. It closes l. Off loopback it refuses
// to start without a token or without TLS.
func (s *Site) Serve(ctx context.Context, l net.Listener) error {
	if err := Admissible(l.Addr(), s.token); err != nil {
		return errors.Join(err, l.Close())
	}
	if s.tls == nil && !Loopback(l.Addr()) {
		return errors.Join(fmt.Errorf("serve page at %v: reachable by others and no certificate given", l.Addr()), l.Close())
	}
	// What is being answered when ctx ends is answered to its end. A live stream never goes
	// idle: Shutdown would wait for it in vain, so it has an end of its own.
	base, endRequests := context.WithCancel(context.WithoutCancel(ctx))
	defer endRequests()
	streams, endStreams := context.WithCancel(base)
	defer endStreams()
	base = context.WithValue(base, streamsKey{}, streams.Done())
	server := &http.Server{
		Handler:           s,
		BaseContext:       func(net.Listener) context.Context { return base },
		ReadHeaderTimeout: headerTimeout,
		IdleTimeout:       idleTimeout,
		MaxHeaderBytes:    16 << 10,
		ErrorLog:          log.New(&complaints{s.logger}, "", 0),
		TLSConfig:         s.tls,
	}
	l = &closedOnce{Listener: l, close: sync.OnceValue(l.Close)} // the server closes it too
	var came arrivals
	server.ConnState = came.note
	served := make(chan error, 1)
	go func() { served <- s.serve(server, netutil.LimitListener(l, maxConnections)) }()
	select {
	case err := <-served:
		return fmt.Errorf("serve page at %v: %w", l.Addr(), err)
	case <-ctx.Done():
	}
	// First nobody is let in any more, then whoever was is answered.
	closed := l.Close()
	came.settle()
	endStreams()
	deadline, cancel := context.WithTimeout(context.WithoutCancel(ctx), shutdownTimeout)
	defer cancel()
	err := server.Shutdown(deadline)
	if err != nil {
		err = errors.Join(err, server.Close())
	}
	<-served
	if err = errors.Join(closed, err); err != nil {
		return fmt.Errorf("end page at %v: %w", l.Addr(), err)
	}
	return nil
}

// streamsKey is that of the channel in a request's context which closes when live streams end.
type streamsKey struct{}

// streamsEnd closes when live streams are to end. It never does where nobody serves.
func streamsEnd(ctx context.Context) <-chan struct{} {
	end, _ := ctx.Value(streamsKey{}).(<-chan struct{})
	return end
}

// Fingerprint returns the SHA-256 fingerprint of the certificate that others are served
// with, as a browser shows it; empty on loopback.
func (s *Site) Fingerprint() string {
	if s.tls == nil || len(s.tls.Certificates) == 0 {
		return ""
	}
	return certificate.Fingerprint(s.tls.Certificates[0])
}

// closedOnce is a listener that may be closed again, and whose connections hold little that
// was not taken yet: a browser that falls behind is to see the present, not all that it
// missed.
type closedOnce struct {
	net.Listener
	close func() error
}

// sendBuffer in bytes is some seconds of one gauge's events.
const sendBuffer = 64 << 10

// Accept implements [net.Listener].
func (l *closedOnce) Accept() (net.Conn, error) {
	c, err := l.Listener.Accept()
	if b, ok := c.(interface{ SetWriteBuffer(bytes int) error }); ok {
		_ = b.SetWriteBuffer(sendBuffer) // without it all goes on, with more waiting
	}
	return c, err
}

// Close implements [net.Listener].
func (l *closedOnce) Close() error { return l.close() }

func (s *Site) serve(server *http.Server, l net.Listener) error {
	if s.tls == nil {
		return server.Serve(l)
	}
	return server.ServeTLS(doorway{Listener: l, hosts: s.hosts}, "", "")
}

// complaints logs what the server has to say. That a handshake failed is no news: a
// tablet that does not know the certificate yet, or one that came with plain http.
type complaints struct{ logger *slog.Logger }

// Write implements [io.Writer].
func (c *complaints) Write(line []byte) (int, error) {
	level := slog.LevelWarn
	if bytes.Contains(line, []byte("TLS handshake error")) {
		level = slog.LevelDebug
	}
	c.logger.Log(context.Background(), level, strings.TrimSpace(string(line)))
	return len(line), nil
}

// Admissible returns an error if others could reach the address and no token is set.
func Admissible(a net.Addr, token string) error {
	if token != "" || Loopback(a) {
		return nil
	}
	return fmt.Errorf("serve page at %v: reachable by others and no token set (set one, or listen at 127.0.0.1)", a)
}

// Loopback reports whether only this machine can reach the address.
func Loopback(a net.Addr) bool {
	switch a := a.(type) {
	case *net.TCPAddr:
		return a.IP.IsLoopback()
	default:
		return a.Network() == "unix"
	}
}
