package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"boretight/internal/decay"
	"boretight/internal/ledger"
	"boretight/internal/quantity"
	"boretight/internal/ticket"
	"boretight/internal/trial"
)

type ticketShowCmd struct {
	ID     string `arg:"" placeholder:"TICKET" help:"Ticket, such as T-1001."`
	Ledger string `placeholder:"FILE" help:"Ledger to read; the usual one when not given."`
	JSON   bool   `name:"json" help:"Print one JSON object."`
}

// Help shows an example.
func (ticketShowCmd) Help() string {
	return `Example:
  boretight ticket show T-1001

boretight compare --ticket sets as found against as left.`
}

// sideLine is a trial of a ticket, as it counts now.
type sideLine struct {
	ID       string          `json:"id"`
	Of       string          `json:"joint"`
	Section  string          `json:"section,omitempty"`
	Closure  string          `json:"closure,omitempty"`
	When     string          `json:"when,omitempty"`
	Sign     string          `json:"sign,omitempty"`
	At       float64         `json:"at_pa,omitempty"`
	Holds    int             `json:"holds"`
	LeakRate *trial.LeakRate `json:"leak_rate"`
	SCCM     *decay.Estimate `json:"leak_rate_sccm,omitempty"`
	Verdict  trial.Verdict   `json:"verdict,omitempty"`
	Decision *trial.Decision `json:"decision,omitempty"`
}

func (c *ticketShowCmd) run(ctx context.Context, a app) (status, error) {
	id, err := ticketTold(c.ID)
	if err != nil {
		return usage, err
	}
	store, err := openForReading(ctx, c.Ledger)
	if err != nil {
		return failed, err
	}
	t, err := store.Ticket(ctx, id)
	var trials []ledger.TrialEntry
	if err == nil {
		trials, err = trialsAsTheyCount(ctx, store, ledger.Filter{Ticket: id, Limit: everyTrial})
	}
	if err = errors.Join(aboutTicket(err), store.Close()); err != nil {
		return failed, err
	}
	slices.Reverse(trials) // oldest first
	if c.JSON {
		line := lineOf(t)
		for _, e := range trials {
			line.Trials = append(line.Trials, sideLineOf(e))
		}
		return done, printJSON(a.out, line)
	}
	_, err = fmt.Fprint(a.out, ticketText(t, trials))
	return done, err
}

func sideLineOf(e ledger.TrialEntry) sideLine {
	r := e.Result
	return sideLine{e.ID, e.Of, e.Section, e.Closure, e.When, r.Sign, r.At, r.Holds, r.LeakRate, r.SCCM, r.Verdict, r.Decision}
}

// ticketText is a ticket for people.
func ticketText(t ticket.Ticket, trials []ledger.TrialEntry) string {
	var b strings.Builder
	b.WriteString(wrapped("", t.ID+": "+whichOne(t.Instrument)))
	line := func(label, text string) {
		if text != "" {
			b.WriteString(wrapped(fmt.Sprintf("  %-13s  ", label), text))
		}
	}
	line("opened", onDay(t.Opened))
	line("closed", onDay(t.Closed))
	line("joints", strings.Join(t.Joints, ", "))
	line("customer", inLine(t.Customer.Name, t.Customer.Contact))
	line("complaint", t.Complaint)
	line("condition", t.Condition)
	var rules []string
	for _, e := range trials {
		line(occasion(e.When), inLine(e.Of, e.Section, e.Closure, sideWords(e.Result)))
		if d := e.Result.Decision; d != nil && !slices.Contains(rules, d.Rule) {
			rules = append(rules, d.Rule)
		}
	}
	for _, rule := range rules {
		line("rule", rule)
	}
	for _, w := range t.Work {
		line("work", onDay(w.At)+": "+inLine(w.Joint, w.Seat, w.Did))
	}
	line("remark", t.Remark)
	return b.String()
}

// sideWords are a result with its verdict, never without the limit.
func sideWords(r trial.Trial) string {
	if r.SCCM == nil {
		return "no leakage rate"
	}
	words := []string{withU(*r.SCCM, "sccm"), counting(r.Holds, "hold")}
	if d := r.Decision; d != nil {
		words = append(words, fmt.Sprintf("%s against %.4g sccm at %s %s", strings.ToUpper(string(r.Verdict)), d.LimitSCCM, quantity.Pressure(r.At), r.Sign))
	}
	return inLine(words...)
}

// onDay writes a date; nothing of one that is not known.
func onDay(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Local().Format("2 Jan 2006")
}
