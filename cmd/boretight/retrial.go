package main

import (
	"context"
	"fmt"
	"slices"

	"boretight/internal/bench"
	"boretight/internal/hold"
	"boretight/internal/ledger"
	"boretight/internal/trial"
)

// withoutVoided returns the result of a trial as it counts now: where a hold was set aside
// since it was recorded, the rest is combined anew.
func withoutVoided(ctx context.Context, store ledger.Store, t ledger.Trial) (trial.Trial, error) {
	voided, err := store.Voided(ctx, t.Holds)
	if err != nil {
		return t.Result, err
	}
	return withoutThose(ctx, store, t, voided)
}

// withoutThose is withoutVoided where it is known what was set aside; there may be other
// holds among the voided.
func withoutThose(ctx context.Context, store ledger.Store, t ledger.Trial, voided []string) (trial.Trial, error) {
	own := slices.DeleteFunc(slices.Clone(t.Holds), func(id string) bool { return !slices.Contains(voided, id) })
	if t.Result.Holds == len(t.Holds)-len(own) {
		return t.Result, nil // none was, or it was recorded anew since
	}
	return without(ctx, store, t, own)
}

// judgeAgain records a trial anew, without those of its holds that were set aside, of which
// one is named. It reports whether the trial has that hold: one of which a bench knew by then
// may be left out already.
func judgeAgain(ctx context.Context, store ledger.Store, id, hold string) (t ledger.Trial, has bool, err error) {
	e, err := store.FindTrial(ctx, id)
	if err != nil {
		return t, false, err
	}
	if t = e.Trial; !slices.Contains(t.Holds, hold) {
		return t, false, nil
	}
	voided, err := store.Voided(ctx, t.Holds)
	if err != nil {
		return t, true, err
	}
	if t.Result, err = without(ctx, store, t, voided); err != nil {
		return t, true, err
	}
	_, err = store.Append(ctx, t.Draft())
	return t, true, err
}

// without returns the result of a trial without those of its holds that are among the
// voided, under the terms that it was judged by: what was withheld because of the rig stays
// withheld.
func without(ctx context.Context, store ledger.Store, t ledger.Trial, voided []string) (trial.Trial, error) {
	var members []trial.Member
	for i, id := range t.Holds {
		if slices.Contains(voided, id) {
			continue
		}
		member, err := memberOf(ctx, store, t, i)
		if err != nil {
			return trial.Trial{}, fmt.Errorf("combine trial %s without what was set aside: %w", t.ID, err)
		}
		members = append(members, member)
	}
	notes := []string{fmt.Sprintf("%d of %s were set aside and do not count.", len(t.Holds)-len(members), counting(len(t.Holds), "hold"))}
	if len(members) == 0 {
		return trial.Trial{Schema: trial.SchemaTrial, ID: t.ID, Joint: t.Result.Joint, Closure: t.Result.Closure, Sign: t.Result.Sign, At: t.Result.At, Notes: notes}, nil
	}
	result, err := trial.Pool(members, termsOf(t))
	if err != nil {
		return trial.Trial{}, fmt.Errorf("combine trial %s without what was set aside: %w", t.ID, err)
	}
	if result.ID = t.ID; result.Decision != nil {
		result.Decision.From = t.Result.Decision.From
	}
	if t.Terms != nil {
		notes = append(notes, t.Terms.Notes...)
	}
	result.Notes = append(result.Notes, notes...)
	return result, nil
}

// termsOf are what a recorded trial was judged by.
func termsOf(t ledger.Trial) (terms trial.Terms) {
	if d := t.Result.Decision; d != nil {
		terms.Limit, terms.CheckRig = trial.Limit(d.Limit), d.WithheldBecause()
	}
	if t.Terms != nil {
		terms.Known = t.Terms.Known
	}
	return terms
}

// memberOf reads hold i of a trial as the member that it was.
func memberOf(ctx context.Context, store ledger.Store, t ledger.Trial, i int) (m trial.Member, err error) {
	r, err := recordsOf(ctx, store, t.Holds[i])
	if err != nil {
		return m, err
	}
	told, err := bench.ReadTold(r.hold.Begin.Setup)
	if err != nil {
		return m, err
	}
	if r.hold.End != nil {
		m.Outcome, err = r.hold.End.Judged()
	}
	m.Joint, m.Closure, m.Rig = t.Result.Joint, t.Result.Closure, t.Result.Rig
	m.Volume = told.Setup(hold.Suction).Volume.Value // the same for both signs
	switch terms := t.Terms; {
	case terms != nil && i < len(terms.Plugging) && i < len(terms.Dof):
		m.Plugging, m.Outcome.Dof = terms.Plugging[i], terms.Dof[i]
	case told.Replugged:
		m.Plugging = i + 1 // a record of before this was kept
	default:
		m.Plugging = 1
	}
	return m, err
}
