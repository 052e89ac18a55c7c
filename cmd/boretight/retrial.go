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
	if err != nil || len(voided) == 0 {
		return t.Result, err
	}
	var members []trial.Member
	for _, id := range t.Holds {
		if slices.Contains(voided, id) {
			continue
		}
		member, replugged, err := memberOf(ctx, store, t, id)
		if err != nil {
			return trial.Trial{}, fmt.Errorf("combine trial %s without what was set aside: %w", t.ID, err)
		}
		member.Plugging = 1
		if replugged {
			member.Plugging += len(members)
		}
		members = append(members, member)
	}
	note := fmt.Sprintf("%d of %d holds were set aside and do not count.", len(voided), len(t.Holds))
	if len(members) == 0 {
		return trial.Trial{Schema: trial.SchemaTrial, ID: t.ID, Joint: t.Result.Joint, Closure: t.Result.Closure, Sign: t.Result.Sign, At: t.Result.At, Notes: []string{note}}, nil
	}
	var terms trial.Terms
	if d := t.Result.Decision; d != nil {
		terms.Limit = trial.Limit(d.Limit)
	}
	result, err := trial.Pool(members, terms)
	if err != nil {
		return trial.Trial{}, fmt.Errorf("combine trial %s without what was set aside: %w", t.ID, err)
	}
	result.ID, result.Notes = t.ID, append(result.Notes, note)
	return result, nil
}

// memberOf reads a hold as a member of its trial, and whether it was plugged anew.
func memberOf(ctx context.Context, store ledger.Store, t ledger.Trial, id string) (m trial.Member, replugged bool, err error) {
	h, err := store.Hold(ctx, id)
	if err != nil {
		return m, false, err
	}
	told, err := bench.ReadTold(h.Begin.Setup)
	if err != nil {
		return m, false, err
	}
	if h.End != nil {
		m.Outcome, err = h.End.Judged()
	}
	m.Joint, m.Closure, m.Rig = t.Result.Joint, t.Result.Closure, t.Result.Rig
	m.Volume = told.Setup(hold.Suction).Volume.Value // the same for both signs
	return m, told.Replugged, err
}
