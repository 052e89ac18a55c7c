package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"

	"boretight/internal/hold"
	"boretight/internal/ledger"
	"boretight/internal/trace"
)

type exportCmd struct {
	Hold   string `required:"" placeholder:"ID" help:"The hold's identity, as hold and the page print it; its begin is enough, and last is the newest."`
	Ledger string `placeholder:"FILE" help:"Ledger to read; the usual one when not given."`
	Out    string `placeholder:"FILE" help:"File to write, which must not exist yet; standard output when not given."`
}

// Help shows an example.
func (exportCmd) Help() string {
	return `Readings begin 10 s before the draw. Where the draw of an earlier hold is among them, the file begins later, with the rest before its own, so that it shows one hold.

Example:
  boretight export --hold 019ab8c2-7d3e-7a52-9f10-3b5c1e8a4d27 --out hold.csv`
}

func (c *exportCmd) run(ctx context.Context, a app) (status, error) {
	store, err := openForReading(ctx, c.Ledger)
	if err != nil {
		return failed, err
	}
	h, err := c.find(ctx, store)
	if err = errors.Join(err, store.Close()); err != nil {
		return failed, fmt.Errorf("export hold %s: %w", c.Hold, err)
	}
	if err := c.write(a, h); err != nil {
		return failed, fmt.Errorf("export hold %s: %w", c.Hold, err)
	}
	return done, nil
}

// find reads the hold that is meant.
func (c *exportCmd) find(ctx context.Context, store ledger.Store) (*ledger.Hold, error) {
	id, err := holdNamed(ctx, store, c.Hold)
	if err != nil {
		return nil, err
	}
	return store.Hold(ctx, id)
}

// alone is the readings of one hold without an earlier one that was short enough to lie
// whole in the time kept before the draw: who fits the file would find both. The end of an
// earlier hold stays, as it is no hold by itself.
func alone(kept trace.Trace) trace.Trace {
	holds := hold.Find(kept)
	if len(holds) < 2 {
		return kept
	}
	own := holds[len(holds)-1]
	begin := own.Readings[own.Before.From].T
	kept.Readings = slices.DeleteFunc(slices.Clone(kept.Readings), func(r trace.Reading) bool { return r.T < begin })
	return kept
}

func (c *exportCmd) write(a app, h *ledger.Hold) error {
	readings := alone(h.Trace)
	if c.Out == "" {
		return readings.Write(a.out)
	}
	file, err := os.OpenFile(c.Out, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	return errors.Join(readings.Write(file), file.Close())
}
