//go:build unix

package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/creack/pty"
	"golang.org/x/sync/errgroup"
	"golang.org/x/sys/unix"
	"golang.org/x/term"
)

// carry makes a pseudo-terminal, links its port to path and carries the device's
// bytes through it, both ways, until ctx ends.
func carry(ctx context.Context, a app, device io.ReadWriteCloser, path string) (err error) {
	master, slave, err := openTerminal()
	if err != nil {
		return err
	}
	// The slave stays open here too: else readers that come and go would each end
	// the terminal.
	defer func() { err = errors.Join(err, slave.Close()) }()
	// Raw, before anybody reads: a terminal is born to echo and to change line ends.
	if _, err := term.MakeRaw(int(slave.Fd())); err != nil {
		return errors.Join(err, master.Close())
	}
	if err := placeLink(slave.Name(), path); err != nil {
		return errors.Join(err, master.Close())
	}
	defer func() { err = errors.Join(err, removeLink(slave.Name(), path)) }()
	fmt.Fprintf(a.out, "%s\n", path)

	group, ctx := errgroup.WithContext(ctx)
	group.Go(func() error {
		<-ctx.Done()
		return errors.Join(device.Close(), master.Close())
	})
	group.Go(func() error { return copyUntil(ctx, master, device) })
	group.Go(func() error { return copyUntil(ctx, device, master) })
	return group.Wait()
}

// openTerminal makes a pseudo-terminal whose master side Close can wake. The library
// hands it out in blocking mode, in which a Write that waits for a reader waits for
// good.
func openTerminal() (master, slave *os.File, err error) {
	blocking, slave, err := pty.Open()
	if err != nil {
		return nil, nil, err
	}
	fd, err := unix.FcntlInt(blocking.Fd(), unix.F_DUPFD_CLOEXEC, 0)
	if err == nil {
		err = unix.SetNonblock(fd, true)
	}
	if err = errors.Join(err, blocking.Close()); err != nil {
		return nil, nil, errors.Join(err, slave.Close())
	}
	return os.NewFile(uintptr(fd), "pseudo-terminal"), slave, nil
}

// copyUntil copies until ctx ends; what then fails did so because of that.
func copyUntil(ctx context.Context, dst io.Writer, src io.Reader) error {
	_, err := io.Copy(dst, src)
	if ctx.Err() != nil || errors.Is(err, os.ErrClosed) {
		return nil
	}
	return err
}
