package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"boretight/internal/gauge/sim"
)

type simCmd struct {
	Link string `required:"" placeholder:"PATH" help:"Where to put the port: a link that is there while this runs."`
	Name string `default:"oboe-upper" help:"Which simulated gauge; boretight ports lists them."`
	Seed uint64 `default:"1" help:"The same seed plays the same holds."`
}

// Help shows an example.
func (simCmd) Help() string {
	return `Example:
  boretight sim --link ./gauge &
  boretight hold --gauge serial:./gauge --volume 26ml

Works where the system has pseudo-terminals: Linux, macOS and their kin.`
}

func (c *simCmd) run(ctx context.Context, a app) (status, error) {
	device, err := sim.Open(c.Name, c.Seed)
	if err != nil {
		return usage, &usageError{err: err, hint: "boretight ports lists the simulated gauges"}
	}
	if v := simulatedVolume(c.Name); v > 0 {
		fmt.Fprintf(a.err, "measure it with %s\n", volumeToTell(v))
	}
	if err := carry(ctx, a, device, c.Link); err != nil {
		return failed, fmt.Errorf("simulate a port: %w", err)
	}
	return done, nil
}

// placeLink makes a link to target at path. One that is there already is replaced
// only if it is a link: it was left behind, or leads to another simulation's port.
func placeLink(target, path string) error {
	info, err := os.Lstat(path)
	switch {
	case err == nil && info.Mode()&fs.ModeSymlink == 0:
		return &hintedError{
			err:  fmt.Errorf("%s is there and is no link, so it is not replaced", path),
			hint: "choose another place with --link",
		}
	case err == nil:
		if err := os.Remove(path); err != nil {
			return err
		}
	case !errors.Is(err, fs.ErrNotExist):
		return err
	}
	return os.Symlink(target, path)
}

// removeLink takes our link away, unless it has become another one meanwhile.
func removeLink(target, path string) error {
	if now, err := os.Readlink(path); err != nil || now != target {
		return nil
	}
	return os.Remove(path)
}
