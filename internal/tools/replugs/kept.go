//go:build unix

package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"boretight/internal/ledger"
	"boretight/internal/ledger/sqlite"
)

// kept is what the ledger has of the rounds' holds.
type kept struct {
	marked   int // holds that are cut, with the reason
	readings int
	disorder int // readings twice, out of order or never said
}

// look compares the ledger with the rounds that met a hold, in order.
func look(ctx context.Context, path string, rounds []result) (k kept, err error) {
	db, err := sqlite.OpenReadOnly(ctx, path)
	if err != nil {
		return k, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	report, err := db.Check(ctx)
	if err != nil {
		return k, err
	}
	if !report.OK {
		return k, fmt.Errorf("the ledger is not sound: %s", *report.FirstFault)
	}
	entries, err := db.Holds(ctx, ledger.Filter{Limit: 10 * len(rounds)})
	if err != nil {
		return k, err
	}
	slices.Reverse(entries)
	if len(entries) != len(rounds) {
		err = fmt.Errorf("the ledger has %d holds, want %d", len(entries), len(rounds))
	}
	for i := range min(len(entries), len(rounds)) {
		h, e := db.Hold(ctx, entries[i].ID)
		if e == nil {
			e = k.one(h, rounds[i].sent)
		}
		if e != nil {
			err = errors.Join(err, fmt.Errorf("hold %d (%s): %w", i+1, entries[i].ID, e))
		}
	}
	return k, err
}

// one looks at one hold.
func (k *kept) one(h *ledger.Hold, sent []float64) error {
	readings := h.Trace.Readings
	k.readings += len(readings)
	if len(readings) == 0 || h.End == nil {
		return errors.New("it has no readings or no end")
	}
	// The first reading's place in what was said: a run of readings is unlike any other.
	at := 0
	for at < len(sent) && (sent[at] != readings[0].Pressure || (len(readings) > 1 && at+1 < len(sent) && sent[at+1] != readings[1].Pressure)) {
		at++
	}
	for i, r := range readings {
		if at+i >= len(sent) || sent[at+i] != r.Pressure || (i > 0 && r.T <= readings[i-1].T) {
			k.disorder++
		}
	}
	outcome, err := h.End.Judged()
	if err != nil {
		return err
	}
	reason := slices.ContainsFunc(outcome.Notes, func(note string) bool { return strings.Contains(note, "cut short") })
	if outcome.Hold == nil || outcome.Hold.Ending != "cut" || !reason {
		return fmt.Errorf("it is not marked as cut: %+v, notes %q", outcome.Hold, outcome.Notes)
	}
	k.marked++
	return nil
}
