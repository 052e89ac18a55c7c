package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"boretight/internal/config"
	"boretight/internal/hold"
	"boretight/internal/ledger"
	"boretight/internal/quantity"
	"boretight/internal/trial"
)

type limitProposeCmd struct {
	Joint  string  `arg:"" placeholder:"INSTRUMENT/JOINT" help:"Joint, such as oboe/upper."`
	Of     limitOf `embed:""`
	Ledger string  `placeholder:"FILE" help:"Ledger to read; the usual one when not given."`
	JSON   bool    `name:"json" help:"Print one JSON object."`
}

// Help shows an example.
func (limitProposeCmd) Help() string {
	return `Example:
  boretight limit propose oboe/upper

The last trial as left of each ticket counts, if it passed or if there was no limit yet;
of more than 100 trials as left, the newest 100 are looked at.
Sections and closures leak differently and are never mixed: without --section it is the
whole joint, without --closure the one closure that its trials have. It sets nothing:
boretight limit set, with the same section and closure, does that.`
}

// proposalLine is a proposal with what it is of.
type proposalLine struct {
	trial.Proposal
	Joint   string  `json:"joint"`
	Section string  `json:"section,omitempty"`
	Closure string  `json:"closure,omitempty"`
	Sign    string  `json:"sign"`
	At      float64 `json:"at_pa"`
	SCCM    float64 `json:"limit_sccm_at_20c"`
}

func (c *limitProposeCmd) run(ctx context.Context, a app) (status, error) {
	if err := c.Of.validate(c.Joint); err != nil {
		return usage, &usageError{err: err}
	}
	store, err := openForReading(ctx, c.Ledger)
	if err != nil {
		return failed, err
	}
	joints, closure, other, err := c.passed(ctx, store)
	if err = errors.Join(err, store.Close()); err != nil {
		return failed, err
	}
	p, err := trial.Propose(joints)
	if err != nil {
		return failed, c.tooFew(err, other)
	}
	if other > 0 {
		p.Notes = append(p.Notes, c.unlooked(other))
	}
	of := c.Of.limit(c.Joint)
	of.Closure = closure
	line := proposalLine{p, of.Joint, of.Section, of.Closure, of.Sign, of.At, p.InSCCM(quantity.FromCelsius(20))}
	if c.JSON {
		return done, printJSON(a.out, line)
	}
	fmt.Fprintf(a.out, "%s, %s at %s: %.4g sccm (at 20 °C)\n", of.Of(), c.Of.Sign, quantity.Pressure(line.At), line.SCCM)
	fmt.Fprintf(a.out, "  %s\n  by the %s\n", p.Sentence, p.Method)
	for _, note := range p.Notes {
		fmt.Fprintf(a.out, "  note: %s\n", note)
	}
	return done, nil
}

// unlooked says that what was measured with the other sign was not looked at.
func (c *limitProposeCmd) unlooked(n int) string {
	return fmt.Sprintf("Only trials in %s were looked at, since the two signs are never mixed: %s as left in %s %s not; --sign %s looks at those.",
		c.Of.Sign, counting(n, "trial"), c.otherSign(), wasOrWere(n), c.otherSign())
}

func wasOrWere(n int) string {
	if n == 1 {
		return "was"
	}
	return "were"
}

func (c *limitProposeCmd) otherSign() string {
	if c.Of.Sign == hold.Suction.String() {
		return hold.Pressure.String()
	}
	return hold.Suction.String()
}

// tooFew is why there is no proposal, and where more joints are.
func (c *limitProposeCmd) tooFew(err error, other int) error {
	hint := c.toPropose()
	if other > 0 {
		hint = c.unlooked(other)
	}
	return &hintedError{err: fmt.Errorf("%s: %w", c.Joint, err), hint: hint}
}

// toPropose is what to do until there are enough joints.
func (c *limitProposeCmd) toPropose() string {
	return "after the work on " + c.Joint + " hold it as left, each instrument under its own ticket: the last trial of each counts if it passed, or if there was no limit yet"
}

// everyTrial is more trials than any ticket has.
const everyTrial = 1 << 20

// newestTrials as left are what a limit is proposed from: many times what it takes, and of
// what the shop is content with now.
const newestTrials = 100

// passed returns the joints that the shop was content with, as left: of each ticket the
// last trial, of those without one each, among the [newestTrials]. other is how many passed trials there are of the
// same with the other sign.
func (c *limitProposeCmd) passed(ctx context.Context, store ledger.Store) (joints []trial.PassedJoint, closure string, other int, err error) {
	l := config.Labels{Joint: c.Joint}
	entries, err := store.Trials(ctx, ledger.Filter{
		Instrument: l.Instrument(), Joint: l.JointOf(), Section: c.Of.Section, When: config.AsLeft, Limit: newestTrials,
	})
	if err != nil {
		return nil, "", 0, err
	}
	gone, err := voidedOf(ctx, store, entries)
	if err != nil {
		return nil, "", 0, err
	}
	var closures []string
	met := map[string]bool{}
	for _, e := range entries {
		of := c.Of.limit(c.Joint)
		of.Closure = cmp.Or(of.Closure, e.Closure)
		mine := ledger.Limit{Joint: e.Of, Section: e.Section, Closure: e.Closure, At: e.Result.At, Sign: e.Result.Sign}
		turned := mine
		turned.Sign = of.Sign
		switch {
		case mine.Sign == c.otherSign() && turned.Same(of) && e.Result.LeakRate != nil && e.Result.Verdict != trial.Fail && e.Result.Verdict != trial.Inconclusive:
			other++
			continue
		case !mine.Same(of):
			continue
		}
		name := cmp.Or(e.Ticket, e.ID)
		if met[name] {
			continue
		}
		met[name] = true
		now := e.Result
		if slices.ContainsFunc(e.Holds, func(id string) bool { return gone[id] }) {
			if now, err = withoutVoided(ctx, store, e.Trial); err != nil {
				return nil, "", 0, err
			}
		}
		if now.LeakRate == nil || (now.Verdict != trial.Pass && now.Verdict != trial.None) {
			continue
		}
		if !slices.Contains(closures, e.Closure) {
			closures = append(closures, e.Closure)
		}
		joints = append(joints, trial.PassedJoint{Name: name, LeakRate: now.LeakRate.Value, U: now.LeakRate.U})
	}
	if len(closures) > 1 {
		return nil, "", 0, &usageError{err: fmt.Errorf("propose limit for %s: its trials have the closures %q, which leak differently; choose one with --closure", c.Joint, closures)}
	}
	return joints, cmp.Or(append(closures, c.Of.Closure)...), other, nil
}

// manyHolds is how many holds a store is asked for at once.
const manyHolds = 10_000

// voidedOf returns which holds of trials were set aside.
func voidedOf(ctx context.Context, store ledger.Store, entries []ledger.TrialEntry) (map[string]bool, error) {
	var holds []string
	for _, e := range entries {
		holds = append(holds, e.Holds...)
	}
	gone := map[string]bool{}
	for part := range slices.Chunk(holds, manyHolds) {
		voided, err := store.Voided(ctx, part)
		if err != nil {
			return nil, err
		}
		for _, id := range voided {
			gone[id] = true
		}
	}
	return gone, nil
}
