package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"slices"

	"golang.org/x/sync/errgroup"

	"boretight/internal/bench"
	"boretight/internal/config"
	"boretight/internal/gauge"
	"boretight/internal/rig"
	"boretight/internal/trial"
)

type holdCmd struct {
	Config  string         `group:"bench" type:"path" placeholder:"FILE" help:"Configuration, for what no flag tells; the usual one when not given."`
	Gauge   string         `required:"" group:"bench" placeholder:"[NAME=]ADDRESS" help:"Where the gauge is; boretight ports lists addresses."`
	Holds   int            `default:"1" group:"bench" help:"How many holds to wait for."`
	Ledger  string         `group:"bench" placeholder:"FILE" help:"Ledger to record into; the usual one when not given."`
	Measure config.Measure `embed:""`
	Labels  config.Labels  `embed:""`
	Rig     config.Rig     `embed:""`
	Budget  bool           `help:"Print all that the uncertainty is made of, and what to improve first (JSON has it anyway)."`
	JSON    bool           `name:"json" help:"Print one JSON object a hold and one for the trial, one a line."`
}

// Help shows an example.
func (holdCmd) Help() string {
	return `Example:
  boretight hold --gauge serial:COM5 --volume 34.2ml --limit 2.5sccm --holds 3
  boretight hold --gauge serial:COM5 --joint oboe/upper --when as_found --ticket T-17

A gauge that prints a number on each line (options after the question mark):
  --gauge "serial:COM5?baud=9600&dialect=text&unit=kPa&field=2&sign=-"
unit: of the numbers; field: which number of a line, from 1; sign=-: vacuum is shown as
positive; kind=absolute: about 100 kPa at rest; decimal=comma: 12,34 is one number.

Plug the joint, close the keys, draw 2.5 to 2.9 kPa, shut the valve and keep still;
open the valve when the verdict is there. Exit status as of boretight fit.`
}

func (c *holdCmd) run(ctx context.Context, a app) (status, error) {
	if c.Holds < 1 {
		return usage, &usageError{err: fmt.Errorf("--holds %d: want at least 1", c.Holds)}
	}
	told, err := config.Load(c.Config)
	if err != nil {
		return usage, &usageError{err: err}
	}
	told = benchFlags{Ledger: c.Ledger, Measure: c.Measure, Labels: c.Labels, Rig: c.Rig}.over(told)
	settings, err := newSettings(told)
	if err != nil {
		return usage, err
	}
	address, err := gauge.ParseAddress(c.Gauge)
	if err != nil {
		return usage, &usageError{err: err, hint: "see boretight ports for addresses"}
	}
	g, err := gauge.Open(address, gauge.Options{})
	if err != nil {
		return failed, err
	}
	book, err := openBook(ctx, told.Ledger, slog.New(slog.DiscardHandler))
	if err != nil {
		return failed, err
	}
	result, err := c.measure(ctx, a, settings, g, book)
	return result, errors.Join(err, book.close())
}

// measure runs a bench of one gauge until enough holds have ended.
func (c *holdCmd) measure(ctx context.Context, a app, settings bench.Settings, g gauge.Gauge, book *book) (status, error) {
	known, err := readKnown(ctx, book.store)
	if err != nil {
		return failed, err
	}
	if err := noteUnheard(ctx, a.err, book.store, settings.Setup.Name(), settings.Setup.Ticket); err != nil {
		return failed, err
	}
	b, err := bench.New(bench.Options{
		Sources:    []bench.Source{{Name: g.Address().Label(), Gauge: g}},
		Recorder:   book.writer,
		LedgerPath: book.path,
		NeedGauges: true,
		Settings:   settings,
		RigRecords: known.rigRecords,
		Limits:     known.limitsInForce,
		Trials:     &trialBook{book: book},
		TrialHolds: c.Holds,
	})
	if err != nil {
		return failed, err
	}
	events := b.Subscribe(holdEvents)
	running, enough := context.WithCancel(ctx)
	defer enough()
	var group errgroup.Group
	group.Go(func() error { return b.Run(running) })
	group.Go(func() error { known.follow(running, slog.New(slog.DiscardHandler)); return nil })

	counter := &holdCounter{cmd: c, app: a, teller: teller{w: a.out}, progress: newProgress(a), rigRecords: known.rigRecords}
	err = counter.follow(events, enough)
	enough()
	err = errors.Join(err, group.Wait())
	counter.progress.finish()
	counter.progress.tally(g.Stats())
	if err != nil {
		return failed, err
	}
	return counter.summary(ctx)
}

// holdEvents is room for a minute of events: printing never takes that long.
const holdEvents = 4096

// holdCounter prints holds as they end, until there are enough.
type holdCounter struct {
	cmd      *holdCmd
	app      app
	teller   teller
	progress *progress
	outcomes []trial.Outcome
	// trials are those of the holds printed, as they are now, in the order of their first;
	// counted tells that the next trial to come is that of a hold that was printed.
	trials  []trial.Trial
	counted bool
	worst   status
	// rigRecords is all that is on record of rigs; nil where nothing is kept of them.
	rigRecords func() []rig.Record
}

// follow reads events until they end or there are enough holds, and calls enough then.
func (c *holdCounter) follow(events *bench.Subscription, enough func()) error {
	defer events.Close()
	var failure error
	for e := range events.C {
		switch d := e.Data.(type) {
		case bench.HoldData:
			c.counted = false
			if len(c.outcomes) == c.cmd.Holds || failure != nil {
				continue // cut by our own end
			}
			failure = c.take(d)
			if failure != nil || len(c.outcomes) == c.cmd.Holds {
				enough()
			}
		case bench.TrialData:
			c.join(d.Trial)
		case bench.StateData:
			c.progress.state(d)
		case bench.EstimateData:
			c.progress.estimate(d)
		case bench.ReadingData:
			c.progress.reading(d)
		}
	}
	return failure
}

// take prints one hold that is in the ledger.
func (c *holdCounter) take(d bench.HoldData) error {
	if d.Unrecorded != "" {
		return &hintedError{
			err:  fmt.Errorf("hold %s is not in the ledger, so it is not printed: %s", d.ID, d.Unrecorded),
			hint: "make room, or choose another ledger with --ledger, and measure again",
		}
	}
	o := d.Outcome
	if o.Hold == nil {
		c.progress.say("that was not a hold: " + firstOr(o.Notes, "the joint was never shut off"))
		return nil
	}
	c.outcomes, c.counted = append(c.outcomes, o), true
	c.worst = c.worst.worse(statusOf(o.Verdict, o.LeakRate))
	c.progress.finish()
	if c.cmd.JSON {
		return printJSON(c.app.out, o)
	}
	if err := c.teller.outcome(o, nil, false); err != nil {
		return err
	}
	if used := c.rigUsed(o); used != "" {
		if _, err := io.WriteString(c.app.out, wrapped("  rig            ", used)); err != nil {
			return err
		}
	}
	if !c.cmd.Budget {
		return nil
	}
	return printBudget(c.app.out, o.Improvements())
}

func (c *holdCounter) rigUsed(o trial.Outcome) string {
	if c.rigRecords == nil {
		return ""
	}
	return rigUsed(c.rigRecords(), o.RigRecords)
}

// join notes what a trial is now. It comes behind the hold that it gained.
func (c *holdCounter) join(t trial.Trial) {
	if !c.counted {
		return
	}
	i := slices.IndexFunc(c.trials, func(old trial.Trial) bool { return old.ID == t.ID })
	if i < 0 {
		i = len(c.trials)
		c.trials = append(c.trials, t)
	}
	c.trials[i] = t
}

// summary prints the trial, or each where holds were not alike, and says how it all ended.
func (c *holdCounter) summary(ctx context.Context) (status, error) {
	var err error
	if c.cmd.JSON {
		err = printJSON(c.app.out, c.together())
	} else {
		for _, t := range c.trials {
			err = errors.Join(err, c.printTrial(t))
		}
	}
	switch missing := c.cmd.Holds - len(c.outcomes); {
	case err != nil:
		return failed, err
	case missing > 0 && ctx.Err() != nil && len(c.outcomes) == 0:
		return undecided, nil
	case missing > 0 && ctx.Err() == nil:
		return failed, fmt.Errorf("the gauge has ended after %d of %d holds", len(c.outcomes), c.cmd.Holds)
	}
	return c.worst, nil
}

// together is the one trial that is printed as JSON, of all holds that were printed: that
// with most of them, of several the last. The others are named in its notes.
func (c *holdCounter) together() trial.Trial {
	if len(c.trials) == 0 {
		return trial.Trial{Schema: trial.SchemaTrial, Holds: len(c.outcomes), Notes: []string{}}
	}
	chosen := 0
	for i, t := range c.trials {
		if t.Holds >= c.trials[chosen].Holds {
			chosen = i
		}
	}
	t := c.trials[chosen]
	if len(c.trials) > 1 {
		notes := []string{fmt.Sprintf("Not all of the %d holds are alike, so they are %d trials: this is %s.",
			len(c.outcomes), len(c.trials), trialName(t))}
		for _, other := range slices.Delete(slices.Clone(c.trials), chosen, chosen+1) {
			text := "Not in it: trial " + trialName(other)
			if other.Verdict != trial.None {
				text += ": " + string(other.Verdict)
			}
			notes = append(notes, text+".")
		}
		t.Notes = slices.Concat(notes, t.Notes)
	}
	t.Holds = len(c.outcomes)
	return t
}

// trialName is a trial's identity with its number of holds and their sign.
func trialName(t trial.Trial) string {
	return fmt.Sprintf("%s, of %s in %s", t.ID, counting(t.Holds, "hold"), cmp.Or(t.Sign, "neither sign"))
}

func (c *holdCounter) printTrial(t trial.Trial) error {
	if len(c.outcomes) > 1 {
		if err := c.teller.trial(t); err != nil {
			return err
		}
		if c.cmd.Budget {
			if err := printBudget(c.app.out, t.Improvements()); err != nil {
				return err
			}
		}
	}
	_, err := fmt.Fprintf(c.app.out, "  trial          %s\n", t.ID)
	return err
}

func firstOr(texts []string, other string) string {
	if len(texts) > 0 {
		return texts[0]
	}
	return other
}
