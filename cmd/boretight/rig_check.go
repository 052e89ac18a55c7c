package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"boretight/internal/air"
	"boretight/internal/bench"
	"boretight/internal/bench/guided"
	"boretight/internal/config"
	"boretight/internal/gauge"
	"boretight/internal/quantity"
	"boretight/internal/rig"
)

type rigCheckCmd struct {
	Gauge   string                            `group:"bench" placeholder:"[NAME=]ADDRESS" help:"Where the gauge is; boretight ports lists addresses."`
	Leak    leakFlags                         `embed:""`
	Volume  *quantity.Volume                  `group:"measure" placeholder:"50ml" help:"What the leak sits on, the rig not included; nothing but the rig when not told."`
	VolumeU *quantity.Spread[quantity.Volume] `name:"volume-u" group:"measure" placeholder:"0.5%" help:"Standard uncertainty of that; 5% when not told."`
	Holds   int                               `default:"1" group:"bench" help:"How many holds to take."`
	Flags   rigFlags                          `embed:""`
}

// Help shows an example.
func (rigCheckCmd) Help() string {
	return `Example:
  boretight rig check --gauge serial:COM5 --certificate RL-7.toml --volume 50ml --volume-u 0.5%

Needs a blank of the rig on record that is not overdue: its volume is added and its leak taken off. The chart
goes on from the checks in the ledger with the same leak and the same rig, since the rig
was last proven. A check that is off by more than three times its standard uncertainty
fails, and a second one clears the rig or confirms it. Exit status 0 in control, 3 out of
control, 4 when the check says nothing.`
}

func (c *rigCheckCmd) run(ctx context.Context, a app) (status, error) {
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
	return guide{
		app: a, flags: flags, usual: checkValid, setup: bench.Setup{Bench: configured.Bench, Section: "rig check"},
		begin: func(t guided.Told, _ gauge.Identity, records []rig.Record) (guided.Procedure, error) {
			reference, err := referenceOf(leak, t.Rig, records, time.Now())
			if err != nil {
				return nil, err
			}
			var body rig.Measured
			if c.Volume != nil {
				body = measuredOf(*c.Volume, c.VolumeU)
			}
			return guided.NewCheck(t, reference, body, c.Holds, earlierChecks(records, t.Rig, leak.ID))
		},
		finish: func(r *rig.Record) { r.Notes = append(r.Notes, leak.Notes...) },
	}.run(ctx, c.Gauge, configured)
}

func (c *rigCheckCmd) validate() error {
	if err := (config.Measure{Volume: c.Volume, VolumeU: c.VolumeU}).Validate(); err != nil {
		return &usageError{err: err}
	}
	return referenceFault(c.Leak, c.Holds)
}

// referenceFault refuses a reference leak that is not told.
func referenceFault(f leakFlags, holds int) error {
	switch {
	case f.Certificate == "":
		return &usageError{err: errors.New("no reference leak is told"), hint: "name its certificate's file with --certificate"}
	case holds < 1:
		return &usageError{err: errors.New("--holds: want at least 1")}
	}
	return nil
}

// referenceOf returns a reference leak on a rig with the blanks that hold for it: one that
// is overdue is used no more than in the hold of a joint.
func referenceOf(leak config.Certificate, id rig.Identity, records []rig.Record, now time.Time) (guided.Reference, error) {
	reference := guided.Reference{Leak: leak.Certificate, Dead: leak.Dead, Says: map[air.Sign]string{}}
	why := fmt.Sprintf("no blank of the rig (%s) is on record", rigText(id))
	for _, sign := range []air.Sign{air.Suction, air.Pressure} {
		held := rig.NewStanding(now, rig.Subject{Rig: id, Sign: sign}, records...).Blank
		switch held.State {
		case rig.Holds:
			reference.Blanks = append(reference.Blanks, *held.Record.Blank)
			reference.Says[sign] = held.Says
		case rig.Overdue:
			why = fmt.Sprintf("the blank of the rig is overdue since %s", held.Record.ValidUntil.Format(time.DateOnly))
		case rig.Changed:
			why = fmt.Sprintf("the blank on record is of another rig (%s)", rigText(held.Record.Rig))
		}
	}
	if len(reference.Blanks) == 0 {
		return reference, &hintedError{
			err:  fmt.Errorf("measure reference leak: %s", why),
			hint: "take one with boretight rig blank: what the rig holds and leaks must be known first",
		}
	}
	return reference, nil
}

// earlierChecks are those of one leak with one rig, since the rig last passed its proof:
// a rig that was mended is proven anew.
func earlierChecks(records []rig.Record, id rig.Identity, leak string) (checks []rig.Checked) {
	for _, r := range records {
		switch {
		case len(id.Changed(r.Rig)) > 0:
		case r.Proof != nil && r.Proof.Passed:
			checks = nil
		case r.Check != nil && r.Leak == leak:
			checks = append(checks, r.Check.Newest)
		}
	}
	return checks
}
