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
	"golang.org/x/term"
)

// carry makes a pseudo-terminal, links its port to path and carries the device's
// bytes through it, both ways, until ctx ends.
func carry(ctx context.Context, a app, device io.ReadWriteCloser, path string) (err error) {
	master, slave, err := pty.Open()
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

// copyUntil copies until ctx ends; what then fails did so because of that.
func copyUntil(ctx context.Context, dst io.Writer, src io.Reader) error {
	_, err := io.Copy(dst, src)
	if ctx.Err() != nil || errors.Is(err, os.ErrClosed) {
		return nil
	}
	return err
}
