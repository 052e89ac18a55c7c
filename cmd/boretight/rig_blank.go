package main

import (
	"context"
	"errors"

	"boretight/internal/bench"
	"boretight/internal/bench/guided"
	"boretight/internal/config"
	"boretight/internal/gauge"
	"boretight/internal/quantity"
	"boretight/internal/rig"
)

type rigBlankCmd struct {
	Gauge   string                            `group:"bench" placeholder:"[NAME=]ADDRESS" help:"Where the gauge is; boretight ports lists addresses."`
	Holds   int                               `default:"3" group:"bench" help:"How many holds to take."`
	Volume  *quantity.Volume                  `group:"measure" xor:"volume" placeholder:"8.1ml" help:"What the rig holds with its stoppers joined."`
	VolumeU *quantity.Spread[quantity.Volume] `name:"volume-u" group:"measure" placeholder:"0.2ml" help:"Standard uncertainty of that; 5% when not told."`
	Syringe syringeFlags                      `embed:""`
	Flags   rigFlags                          `embed:""`
}

// syringeFlags tell of a syringe's step.
type syringeFlags struct {
	Syringe  *quantity.Volume                  `group:"measure" xor:"volume" placeholder:"0.2ml" help:"By how much a syringe's plunger is moved in each hold, to measure the volume."`
	SyringeU *quantity.Spread[quantity.Volume] `name:"syringe-u" group:"measure" placeholder:"0.5%" help:"Standard uncertainty of that; 2% when not told."`
	Dead     *quantity.Volume                  `group:"measure" placeholder:"0.05ml" help:"What of syringe and nozzle is shut off in holds."`
}

// told returns what the procedure is told of the syringe.
func (f syringeFlags) told() guided.Syringe {
	const usualU = 0.02 // plastic syringes are within 4 or 5 % (ISO 7886-1, half full or more)
	if f.Syringe == nil {
		return guided.Syringe{}
	}
	s := guided.Syringe{Step: rig.Measured{Value: float64(*f.Syringe), U: usualU * float64(*f.Syringe)}}
	if f.SyringeU != nil {
		s.Step.U = float64(f.SyringeU.Of(*f.Syringe))
	}
	if f.Dead != nil {
		s.Dead = rig.Measured{Value: float64(*f.Dead), U: 0.2 * float64(*f.Dead)}
	}
	return s
}

// validate refuses a syringe that cannot be.
func (f syringeFlags) validate() error {
	switch {
	case f.Syringe == nil && (f.SyringeU != nil || f.Dead != nil):
		return &usageError{err: errors.New("something is told of a syringe, but not its step"), hint: "tell it with --syringe 0.2ml"}
	case f.Syringe != nil && !(*f.Syringe > 0):
		return &usageError{err: errors.New("--syringe: a step of nothing measures nothing"), hint: "tell by how much the plunger moves, such as 0.2ml"}
	}
	return nil
}

// Help shows an example.
func (rigBlankCmd) Help() string {
	return `Examples:
  boretight rig blank --gauge serial:COM5 --volume 8.1ml --volume-u 0.2ml
  boretight rig blank --gauge serial:COM5 --syringe 0.2ml --syringe-u 0.5%

Join the stoppers, so that nothing but the rig is measured; what to do next is said on
standard error. Type back to take the last hold away. The record goes into the ledger and
counts for the same gauge, hose, stoppers and valve.`
}

func (c *rigBlankCmd) run(ctx context.Context, a app) (status, error) {
	flags, configured, err := c.Flags.settled()
	if err == nil {
		err = c.validate()
	}
	if err != nil {
		return usage, err
	}
	return guide{
		app: a, flags: flags, usual: blankValid, setup: bench.Setup{Bench: configured.Bench, Section: "rig blank"},
		begin: func(t guided.Told, _ gauge.Identity, _ []rig.Record) (guided.Procedure, error) {
			var volume rig.Measured
			if c.Volume != nil {
				volume = measuredOf(*c.Volume, c.VolumeU)
			}
			return guided.NewBlank(t, c.Holds, volume, c.Syringe.told())
		},
	}.run(ctx, c.Gauge, configured)
}

func (c *rigBlankCmd) validate() error {
	if err := (config.Measure{Volume: c.Volume, VolumeU: c.VolumeU}).Validate(); err != nil {
		return &usageError{err: err}
	}
	switch {
	case c.Holds < 1:
		return &usageError{err: errors.New("--holds: want at least 1")}
	case c.Volume == nil && c.Syringe.Syringe == nil:
		return &usageError{err: errors.New("neither --volume nor --syringe is given"), hint: "tell what the rig holds, or measure it with a syringe"}
	}
	return c.Syringe.validate()
}
