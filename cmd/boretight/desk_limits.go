package main

import (
	"context"
	"errors"
	"time"

	"boretight/internal/ledger"
	"boretight/internal/quantity"
	"boretight/internal/rig"
	"boretight/internal/trial"
	"boretight/internal/web"
)

var (
	_ web.LimitDesk = (*desk)(nil)
	_ web.RigShelf  = shelf{}
)

// Limits implements [web.LimitDesk].
func (d *desk) Limits(ctx context.Context) ([]ledger.Limit, error) {
	return limitsInForce(ctx, d.book.store)
}

// SetLimit implements [web.LimitDesk]. The bench knows of it within [knownInterval].
func (d *desk) SetLimit(ctx context.Context, l ledger.Limit) error {
	if err := limitFaults(l); err != nil {
		return err
	}
	l.ID, l.Set = ledger.NewID(), time.Now().UTC().Truncate(time.Microsecond)
	return d.append(ctx, l.Draft())
}

// limitFaults says what is wrong with what a limit is of.
func limitFaults(l ledger.Limit) error {
	of := limitOf{At: new(quantity.Pressure(l.At)), Sign: l.Sign, Section: l.Section, Closure: l.Closure}
	return faultsByKey(of.validate(l.Joint), func(key string) string { return key })
}

// ProposeLimit implements [web.LimitDesk].
func (d *desk) ProposeLimit(ctx context.Context, of ledger.Limit) (web.ProposedLimit, error) {
	if err := limitFaults(of); err != nil {
		return web.ProposedLimit{}, err
	}
	c := limitProposeCmd{Joint: of.Joint, Of: limitOf{At: new(quantity.Pressure(of.At)), Sign: of.Sign, Section: of.Section, Closure: of.Closure}}
	joints, closure, other, err := c.passed(ctx, d.book.store)
	if wrong, ok := errors.AsType[*usageError](err); ok {
		return web.ProposedLimit{}, &web.Fault{Says: said(wrong)}
	}
	if err != nil {
		return web.ProposedLimit{}, err
	}
	p, err := trial.Propose(joints)
	if err != nil {
		says := said(err)
		switch {
		case other > 0:
			says += " " + c.unlooked(other)
		case errors.Is(err, trial.ErrTooFew):
			says += " " + said(errors.New(c.toPropose()))
		}
		return web.ProposedLimit{}, &web.Fault{Says: says}
	}
	if other > 0 {
		p.Notes = append(p.Notes, c.unlooked(other))
	}
	of.Closure = closure
	return web.ProposedLimit{Proposal: p, Of: of}, nil
}

// RigRecords implements [web.RigShelf].
func (s shelf) RigRecords(ctx context.Context) ([]rig.Record, error) {
	return rigRecords(ctx, s.store)
}
