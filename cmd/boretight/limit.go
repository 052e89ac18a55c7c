package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"boretight/internal/config"
	"boretight/internal/decay"
	"boretight/internal/ledger"
	"boretight/internal/quantity"
	"boretight/internal/trial"
)

// limitCmd holds what is done with the shop's limits.
type limitCmd struct {
	Set     limitSetCmd     `cmd:"" help:"Set what the shop accepts of a joint."`
	List    limitListCmd    `cmd:"" help:"List the limits in force."`
	Propose limitProposeCmd `cmd:"" help:"Propose a limit from the joints that the shop has passed."`
}

// limitsInForce returns the shop's limits that count now.
func limitsInForce(ctx context.Context, store ledger.Store) ([]ledger.Limit, error) {
	records, err := store.Records(ctx, ledger.LimitSet)
	if err != nil {
		return nil, fmt.Errorf("read the shop's limits: %w", err)
	}
	return ledger.LimitsInForce(records)
}

// limitOf is what a limit is of, beside its joint.
type limitOf struct {
	At   *quantity.Pressure `placeholder:"2.5kPa" help:"Pressure difference that it is stated at; 2.5kPa when not told."`
	Sign string             `enum:"suction,pressure" default:"suction" help:"suction or pressure."`

	Section string `placeholder:"NAME" help:"Section that it is of, as holds tell it; the whole joint when not told."`
	Closure string `placeholder:"NAME" help:"Closure that it is of, as holds tell it; holds that tell none when not told."`
}

func (o limitOf) at() float64 {
	if o.At == nil {
		return decay.DefaultAt
	}
	return float64(*o.At)
}

func (o limitOf) validate(joint string) error {
	return errors.Join(
		config.ValidateJoint(joint), config.Labels{Section: o.Section, Closure: o.Closure}.Validate(), config.Measure{At: o.At}.Validate())
}

// limit is one of the joint, without a rate.
func (o limitOf) limit(joint string) ledger.Limit {
	return ledger.Limit{Joint: joint, Section: o.Section, Closure: o.Closure, At: o.at(), Sign: o.Sign}
}

const schemaLimit = "boretight/limit-set/1"

// limitLine is a limit as it is printed.
type limitLine struct {
	Schema string `json:"schema"`
	ledger.Limit
}

type limitSetCmd struct {
	Joint  string            `arg:"" placeholder:"INSTRUMENT/JOINT" help:"Joint, such as oboe/upper."`
	Rate   quantity.LeakRate `arg:"" placeholder:"RATE" help:"Largest leakage rate that passes, such as 2.5sccm."`
	Of     limitOf           `embed:""`
	Ledger string            `placeholder:"FILE" help:"Ledger to record into; the usual one when not given."`
	JSON   bool              `name:"json" help:"Print one JSON object."`
}

// Help shows an example.
func (limitSetCmd) Help() string {
	return `Example:
  boretight limit set oboe/upper 2.5sccm
  boretight limit set oboe/upper 0.8sccm --section bell --closure "G pressed"

It counts from now on for holds with --joint oboe/upper that are told no --limit and tell
just that section and closure, if any. The limit of a whole joint never judges a section,
nor that of one closure another: such a hold has no limit, and says so. What was judged
before stays as it is; the newest limit counts.`
}

func (c *limitSetCmd) run(ctx context.Context, a app) (result status, err error) {
	_, wrong := trial.NewLimit(float64(c.Rate.At(quantity.FromCelsius(20))))
	if err := errors.Join(c.Of.validate(c.Joint), wrong); err != nil {
		return usage, &usageError{err: err}
	}
	b, err := openBook(ctx, c.Ledger, slog.New(slog.DiscardHandler))
	if err != nil {
		return failed, err
	}
	defer func() { err = errors.Join(err, b.close()) }()
	before, err := limitsInForce(ctx, b.store)
	if err != nil {
		return failed, err
	}
	l := c.Of.limit(c.Joint)
	l.ID, l.Rate, l.Set = ledger.NewID(), c.Rate, time.Now().UTC().Truncate(time.Microsecond)
	if _, err := b.store.Append(ctx, l.Draft()); err != nil {
		return failed, err
	}
	if err := noteUnheard(ctx, a.err, b.store, l.Joint, ""); err != nil {
		return failed, err
	}
	if err := printLimits(a, c.JSON, l); err != nil || c.JSON {
		return done, err
	}
	for _, old := range before {
		if old.Same(l) {
			fmt.Fprintf(a.out, "  it replaces %s, set on %s\n", old.Rate, old.Set.Local().Format("2 Jan 2006"))
		}
	}
	return done, nil
}

type limitListCmd struct {
	Ledger string `placeholder:"FILE" help:"Ledger to read; the usual one when not given."`
	JSON   bool   `name:"json" help:"Print one JSON object a limit, one a line."`
}

// Help shows an example.
func (limitListCmd) Help() string {
	return `Example:
  boretight limit list`
}

func (c *limitListCmd) run(ctx context.Context, a app) (status, error) {
	store, err := openForReading(ctx, c.Ledger)
	if err != nil {
		return failed, err
	}
	limits, err := limitsInForce(ctx, store)
	if err = errors.Join(err, store.Close()); err != nil {
		return failed, err
	}
	if len(limits) == 0 && !c.JSON {
		fmt.Fprintln(a.out, "no limits are set; boretight limit set does that")
	}
	return done, printLimits(a, c.JSON, limits...)
}

func printLimits(a app, json bool, limits ...ledger.Limit) error {
	for _, l := range limits {
		if json {
			if err := printJSON(a.out, limitLine{schemaLimit, l}); err != nil {
				return err
			}
			continue
		}
		fmt.Fprintf(a.out, "%s: at most %s in %s at %s, set on %s\n", l.Of(), l.Rate, l.Sign, quantity.Pressure(l.At), l.Set.Local().Format("2 Jan 2006"))
	}
	return nil
}
