package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"boretight/internal/config"
	"boretight/internal/ledger"
	"boretight/internal/trial"
)

type compareCmd struct {
	Found  string `arg:"" optional:"" placeholder:"FOUND" help:"Trial as found; the begin of its identity is enough."`
	Left   string `arg:"" optional:"" placeholder:"LEFT" help:"Trial as left."`
	Ticket string `placeholder:"ID" help:"Compare the latest trials as found and as left of each joint of a ticket."`
	Joint  string `placeholder:"INSTRUMENT/JOINT" help:"With --ticket, this joint only."`
	Ledger string `placeholder:"FILE" help:"Ledger to read; the usual one when not given."`
	JSON   bool   `name:"json" help:"Print one JSON object a comparison, one a line."`
}

// Help shows an example.
func (compareCmd) Help() string {
	return `Example:
  boretight compare 019ab8c2-7d 019ab8c9-41
  boretight compare --ticket T-17

Errors that both sides share, such as that of one measured volume, cancel in the ratio:
which they are is taken from the records and printed. boretight trials lists trials.`
}

// comparison is a comparison with what it is of.
type comparison struct {
	trial.Comparison
	FoundTrial string   `json:"as_found_trial"`
	LeftTrial  string   `json:"as_left_trial"`
	Section    string   `json:"section,omitempty"`
	Closure    string   `json:"closure,omitempty"`
	Ticket     string   `json:"ticket,omitempty"`
	Because    []string `json:"common_because"`
}

func (c *compareCmd) run(ctx context.Context, a app) (status, error) {
	if err := c.validate(); err != nil {
		return usage, &usageError{err: err}
	}
	store, err := openForReading(ctx, c.Ledger)
	if err != nil {
		return failed, err
	}
	pairs, lacking, err := c.pairs(ctx, store)
	for _, why := range lacking {
		fmt.Fprintf(a.err, "boretight: not compared: %s\n", why)
	}
	var all []comparison
	for _, p := range pairs {
		one, fault := compareTrials(ctx, store, p[0], p[1])
		if fault != nil {
			err = errors.Join(err, fault)
			continue
		}
		all = append(all, one)
	}
	err = errors.Join(err, store.Close())
	for _, one := range all {
		if c.JSON {
			err = errors.Join(err, printJSON(a.out, one))
		} else {
			err = errors.Join(err, printComparison(a.out, one))
		}
	}
	if err != nil {
		return failed, err
	}
	return done, nil
}

func (c *compareCmd) validate() error {
	switch {
	case c.Ticket == "" && (c.Found == "" || c.Left == ""):
		return errors.New("compare: name two trials, or a ticket with --ticket")
	case c.Ticket != "" && c.Found != "":
		return errors.New("compare: name two trials or a ticket, not both")
	case c.Joint != "" && c.Ticket == "":
		return errors.New("compare: --joint chooses among the joints of a --ticket")
	case c.Joint != "":
		return config.ValidateJoint(c.Joint)
	}
	return nil
}

// pairs returns the trials to compare, as found first, and what of a ticket lacks one of
// the two.
func (c *compareCmd) pairs(ctx context.Context, store ledger.Store) (pairs [][2]ledger.Trial, lacking []string, err error) {
	if c.Ticket != "" {
		return c.ofTicket(ctx, store)
	}
	var pair [2]ledger.Trial
	for i, prefix := range []string{c.Found, c.Left} {
		t, err := store.FindTrial(ctx, prefix)
		if err != nil {
			return nil, nil, &hintedError{err: err, hint: "boretight trials lists trials with their identities"}
		}
		pair[i] = t.Trial
	}
	return [][2]ledger.Trial{pair}, nil, nil
}

// ofTicket pairs the latest trials as found and as left of everything that was held apart.
func (c *compareCmd) ofTicket(ctx context.Context, store ledger.Store) (pairs [][2]ledger.Trial, lacking []string, err error) {
	entries, err := store.Trials(ctx, ledger.Filter{Ticket: c.Ticket, Limit: everyTrial})
	if err != nil {
		return nil, nil, err
	}
	type subject struct{ of, section, closure, sign string }
	sides := map[subject]map[string]ledger.Trial{}
	var order []subject
	for _, e := range slices.Backward(entries) { // the latest comes last and stays
		if e.When == "" || (c.Joint != "" && e.Of != c.Joint) {
			continue
		}
		s := subject{e.Of, e.Section, e.Closure, e.Result.Sign}
		if sides[s] == nil {
			sides[s] = map[string]ledger.Trial{}
			order = append(order, s)
		}
		sides[s][e.When] = e.Trial
	}
	// What was held with a sign and what gave none, since no hold of it was one, is the same.
	bare := func(s subject) bool {
		return s.sign == "" && slices.ContainsFunc(order, func(o subject) bool {
			return o.sign != "" && o.of == s.of && o.section == s.section && o.closure == s.closure
		})
	}
	for _, s := range order {
		if bare(s) {
			continue
		}
		found, before := sides[s][config.AsFound]
		left, after := sides[s][config.AsLeft]
		if before && after {
			pairs = append(pairs, [2]ledger.Trial{found, left})
			continue
		}
		missing := config.AsLeft
		if after {
			missing = config.AsFound
		}
		lacking = append(lacking, fmt.Sprintf("%s has no trial %s", inLine(s.of, s.section, s.closure, s.sign), strings.ReplaceAll(missing, "_", " ")))
	}
	if len(pairs) == 0 {
		why := cmp.Or(strings.Join(lacking, "; "), "it has no trials as found or as left")
		return nil, nil, &hintedError{
			err:  fmt.Errorf("compare ticket %s: there is nothing to compare: %s", c.Ticket, why),
			hint: "measure with --ticket, --joint and --when as_found or --when as_left",
		}
	}
	return pairs, lacking, nil
}

// compareTrials sets one trial against another, with what their records have in common.
func compareTrials(ctx context.Context, store ledger.Store, found, left ledger.Trial) (comparison, error) {
	var c comparison
	if found.ID == left.ID {
		return c, fmt.Errorf("compare trial %s with itself: name the one as found and the one as left", found.ID)
	}
	if found.Section != left.Section {
		return c, fmt.Errorf("compare as found with as left: %w: the section differs: %q as found, %q as left", trial.ErrUnlike, found.Section, left.Section)
	}
	was, err := withoutVoided(ctx, store, found)
	if err != nil {
		return c, err
	}
	is, err := withoutVoided(ctx, store, left)
	if err != nil {
		return c, err
	}
	common, because, err := commonTo(ctx, store, found, left)
	if err != nil {
		return c, err
	}
	c.Comparison, err = trial.Compare(was, is, common)
	if err != nil {
		return c, err
	}
	c.FoundTrial, c.LeftTrial, c.Because = found.ID, left.ID, because
	c.Section, c.Closure, c.Ticket = found.Section, found.Closure, left.Ticket
	if found.When == config.AsLeft || left.When == config.AsFound {
		c.Notes = append(c.Notes, fmt.Sprintf("The first trial was recorded as %s, the second as %s: look whether they are the right way round.",
			cmp.Or(found.When, "neither"), cmp.Or(left.When, "neither")))
	}
	return c, nil
}

// printComparison prints it for people.
func printComparison(w io.Writer, c comparison) error {
	var b strings.Builder
	b.WriteString(wrapped("", c.Sentence))
	of := strings.Join(slices.DeleteFunc([]string{c.Joint, c.Closure, c.Sign}, func(s string) bool { return s == "" }), ", ")
	fmt.Fprintf(&b, "  of             %s\n", of)
	fmt.Fprintf(&b, "  as found       %s, trial %s\n", withU(c.Found.Estimate, c.Found.Unit), c.FoundTrial)
	fmt.Fprintf(&b, "  as left        %s, trial %s\n", withU(c.Left.Estimate, c.Left.Unit), c.LeftTrial)
	if c.DifferenceSCCM != nil {
		b.WriteString(wrapped("  difference     ", withInterval(*c.DifferenceSCCM, "sccm")))
		b.WriteString(wrapped("                 ", withInterval(c.Difference.Estimate, c.Difference.Unit)))
	} else {
		b.WriteString(wrapped("  difference     ", withInterval(c.Difference.Estimate, c.Difference.Unit)))
	}
	if c.Ratio != nil {
		fmt.Fprintf(&b, "  ratio          %s\n", c.Ratio.Text())
	}
	for _, why := range c.Because {
		b.WriteString(wrapped("  ", why))
	}
	for _, note := range c.Notes {
		b.WriteString(wrapped("  note: ", note))
	}
	_, err := io.WriteString(w, b.String())
	return err
}
