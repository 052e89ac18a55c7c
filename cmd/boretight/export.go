package main

import (
	"context"
	"errors"
	"fmt"
	"os"

	"boretight/internal/ledger"
)

type exportCmd struct {
	Hold   string `required:"" placeholder:"ID" help:"The hold's identity, as hold and the page print it; its begin is enough, and last is the newest."`
	Ledger string `placeholder:"FILE" help:"Ledger to read; the usual one when not given."`
	Out    string `placeholder:"FILE" help:"File to write, which must not exist yet; standard output when not given."`
}

// Help shows an example.
func (exportCmd) Help() string {
	return `Example:
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
	id := ""
	if c.Hold == "last" {
		newest, err := store.Holds(ctx, ledger.Filter{Limit: 1})
		if err != nil {
			return nil, err
		}
		if len(newest) == 0 {
			return nil, ledger.ErrNotFound
		}
		id = newest[0].ID
	} else {
		var err error
		if id, err = store.FindHold(ctx, c.Hold); err != nil {
			return nil, err
		}
	}
	return store.Hold(ctx, id)
}

func (c *exportCmd) write(a app, h *ledger.Hold) error {
	if c.Out == "" {
		return h.Trace.Write(a.out)
	}
	file, err := os.OpenFile(c.Out, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	return errors.Join(h.Trace.Write(file), file.Close())
}
