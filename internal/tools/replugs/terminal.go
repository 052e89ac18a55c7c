//go:build unix

package main

import (
	"errors"
	"os"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"
	"golang.org/x/term"
)

// terminal is a pseudo-terminal: the gauge's side, and the port.
type terminal struct {
	gauge, port *os.File
}

// openTerminal makes one in raw mode whose gauge's side Close can wake.
func openTerminal() (*terminal, error) {
	blocking, port, err := pty.Open()
	if err != nil {
		return nil, err
	}
	_, err = term.MakeRaw(int(port.Fd()))
	fd, dupErr := unix.FcntlInt(blocking.Fd(), unix.F_DUPFD_CLOEXEC, 0)
	if dupErr == nil {
		dupErr = unix.SetNonblock(fd, true)
	}
	if err = errors.Join(err, dupErr, blocking.Close()); err != nil {
		return nil, errors.Join(err, port.Close())
	}
	return &terminal{gauge: os.NewFile(uintptr(fd), "pseudo-terminal"), port: port}, nil
}

// unplug closes both sides: whoever reads the port reads no more.
func (t *terminal) unplug() error { return errors.Join(t.gauge.Close(), t.port.Close()) }
