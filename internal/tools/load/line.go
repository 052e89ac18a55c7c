//go:build linux

package main

import (
	"errors"
	"io"
	"net"
	"os"
	"sync"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"
	"golang.org/x/term"
)

// terminal is the gauge's side of a pseudo-terminal. It keeps the port open as well: else
// the terminal would end each time the program closes it.
type terminal struct {
	*os.File
	port *os.File
}

// openTerminal makes a pseudo-terminal in raw mode whose gauge's side Close can wake, and
// returns the port's address.
func openTerminal() (io.ReadWriteCloser, string, error) {
	blocking, port, err := pty.Open()
	if err != nil {
		return nil, "", err
	}
	_, err = term.MakeRaw(int(port.Fd()))
	fd, dupErr := unix.FcntlInt(blocking.Fd(), unix.F_DUPFD_CLOEXEC, 0)
	if dupErr == nil {
		dupErr = unix.SetNonblock(fd, true)
	}
	if err = errors.Join(err, dupErr, blocking.Close()); err != nil {
		return nil, "", errors.Join(err, port.Close())
	}
	t := &terminal{File: os.NewFile(uintptr(fd), "pseudo-terminal"), port: port}
	return t, "serial:" + port.Name() + "?baud=921600", nil
}

func (t *terminal) Close() error { return errors.Join(t.File.Close(), t.port.Close()) }

// socket is the gauge's side of a connection that the program is yet to make.
type socket struct {
	listener net.Listener
	accepted chan struct{} // closed with conn or err set
	conn     net.Conn
	err      error
	close    func() error
}

// openSocket waits for one connection and returns its address.
func openSocket() (io.ReadWriteCloser, string, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, "", err
	}
	s := &socket{listener: l, accepted: make(chan struct{})}
	s.close = sync.OnceValue(func() error {
		err := l.Close()
		<-s.accepted
		if s.conn != nil {
			err = errors.Join(err, s.conn.Close())
		}
		return err
	})
	go func() {
		defer close(s.accepted)
		s.conn, s.err = l.Accept()
	}()
	return s, "tcp:" + l.Addr().String(), nil
}

func (s *socket) Read(p []byte) (int, error) {
	if <-s.accepted; s.err != nil {
		return 0, s.err
	}
	return s.conn.Read(p)
}

func (s *socket) Write(p []byte) (int, error) {
	if <-s.accepted; s.err != nil {
		return 0, s.err
	}
	return s.conn.Write(p)
}

func (s *socket) Close() error { return s.close() }
