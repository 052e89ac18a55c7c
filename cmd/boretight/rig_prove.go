package main

import (
	"context"
	"errors"
	"time"

	"boretight/internal/bench"
	"boretight/internal/bench/guided"
	"boretight/internal/config"
	"boretight/internal/gauge"
	"boretight/internal/quantity"
	"boretight/internal/rig"
)

type rigProveCmd struct {
	Gauge   string                            `group:"bench" placeholder:"[NAME=]ADDRESS" help:"Where the gauge is; boretight ports lists addresses."`
	Leak    leakFlags                         `embed:""`
	Bottle  []quantity.Volume                 `group:"measure" placeholder:"50ml" help:"What a rigid bottle holds, the rig not included; give three or more."`
	BottleU *quantity.Spread[quantity.Volume] `name:"bottle-u" group:"measure" placeholder:"0.5%" help:"Standard uncertainty of each bottle; 5% when not told."`
	Holds   int                               `default:"2" group:"bench" help:"How many holds to take on each bottle."`
	Flags   rigFlags                          `embed:""`
}

// Help shows an example.
func (rigProveCmd) Help() string {
	return `Example:
  boretight rig prove --gauge serial:COM5 --certificate RL-7.toml --bottle 50ml --bottle 100ml --bottle 250ml --bottle-u 0.5%

The same reference leak on three rigid bottles or more, the largest at least twice the
smallest. Needs a blank of the rig on record that is not overdue: its volume is counted
once, its leak taken off. Exit status 0 proven, 3 not.`
}

func (c *rigProveCmd) run(ctx context.Context, a app) (status, error) {
	flags, configured, err := c.Flags.settled()
	if err == nil {
		err = c.validate()
	}
	if err != nil {
		return usage, err
	}
	leak, err := c.Leak.load()
	if err != nil {
		return usage, err
	}
	bottles := make([]rig.Measured, len(c.Bottle))
	for i, b := range c.Bottle {
		bottles[i] = measuredOf(b, c.BottleU)
	}
	return guide{
		app: a, flags: flags, usual: proofValid, setup: bench.Setup{Bench: configured.Bench, Section: "rig proof"},
		begin: func(t guided.Told, _ gauge.Identity, records []rig.Record) (guided.Procedure, error) {
			reference, err := referenceOf(leak, t.Rig, records, time.Now())
			if err != nil {
				return nil, err
			}
			return guided.NewProof(t, reference, bottles, c.Holds)
		},
		finish: func(r *rig.Record) { r.Notes = append(r.Notes, leak.Notes...) },
	}.run(ctx, c.Gauge, configured)
}

func (c *rigProveCmd) validate() error {
	if len(c.Bottle) < 3 {
		return &usageError{err: errors.New("--bottle: give three bottles or more"), hint: "such as --bottle 50ml --bottle 100ml --bottle 250ml"}
	}
	for _, b := range c.Bottle {
		if err := (config.Measure{Volume: &b, VolumeU: c.BottleU}).Validate(); err != nil {
			return &usageError{err: err}
		}
	}
	return referenceFault(c.Leak, c.Holds)
}
