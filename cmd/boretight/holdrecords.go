package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"boretight/internal/ledger"
)

// holdRecords is what the ledger's records say of one hold. Its readings, most of a ledger, are
// not looked at: one hold whose readings are damaged hides no other.
type holdRecords struct {
	hold ledger.Hold // without readings
	// aside is nil unless the hold was set aside.
	aside *aside
	// trials are the identities of those that have, or had, the hold.
	trials []string
	// rig are the records of the rig that rest on it.
	rig []ledger.Record
}

// aside is when a hold was set aside, and why: empty once the reason was erased.
type aside struct {
	At     time.Time
	Reason string
}

// recordsOf reads the records about a hold, or returns [ledger.ErrNotFound].
func recordsOf(ctx context.Context, store ledger.Store, id string) (holdRecords, error) {
	records, err := store.About(ctx, id)
	if err != nil {
		return holdRecords{}, err
	}
	return holdOf(ctx, store, id, records)
}

// recordsOfEach reads the records about the holds of a list, all at once and in its order.
func recordsOfEach(ctx context.Context, store ledger.Store, ids []string) ([]holdRecords, error) {
	about, err := store.AboutEach(ctx, ids)
	if err != nil {
		return nil, err
	}
	all := make([]holdRecords, len(ids))
	for i, id := range ids {
		if all[i], err = holdOf(ctx, store, id, about[id]); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// holdOf puts together what the records about a hold say.
func holdOf(ctx context.Context, store ledger.Store, id string, about []ledger.Record) (holdRecords, error) {
	var r holdRecords
	for _, one := range about {
		if err := r.take(ctx, store, one); err != nil {
			return r, fmt.Errorf("read the records about hold %s: %w", id, err)
		}
	}
	if r.hold.Begin.ID != id {
		return r, fmt.Errorf("hold %s: %w", id, ledger.ErrNotFound)
	}
	return r, nil
}

func (r *holdRecords) take(ctx context.Context, store ledger.Store, one ledger.Record) error {
	switch one.Kind {
	case ledger.HoldBegin:
		r.hold.BeginRecord = one
		return json.Unmarshal(one.Content, &r.hold.Begin)
	case ledger.HoldEnd:
		r.hold.EndRecord, r.hold.End = &one, new(ledger.End)
		return json.Unmarshal(one.Content, r.hold.End)
	case ledger.TrialDone:
		var t struct{ ID string }
		if err := json.Unmarshal(one.Content, &t); err != nil {
			return err
		}
		if !slices.Contains(r.trials, t.ID) {
			r.trials = append(r.trials, t.ID)
		}
	case ledger.RigMeasured:
		r.rig = append(r.rig, one)
	case ledger.HoldVoid:
		return r.void(ctx, store, one)
	}
	return nil
}

// void takes when and why the hold was set aside; the first time counts.
func (r *holdRecords) void(ctx context.Context, store ledger.Store, one ledger.Record) error {
	if r.aside != nil {
		return nil
	}
	var v ledger.Void
	if err := json.Unmarshal(one.Content, &v); err != nil {
		return err
	}
	text, err := store.Text(ctx, v.Reason.ID)
	if err != nil && !errors.Is(err, ledger.ErrNotFound) {
		return err
	}
	r.hold.Voided, r.aside = true, &aside{At: one.At, Reason: text.Text}
	return nil
}

// lastHold names the newest hold.
const lastHold = "last"

// holdNamed returns the identity of the hold that is meant by its own begin, or by last.
func holdNamed(ctx context.Context, store ledger.Store, name string) (string, error) {
	if name != lastHold {
		return store.FindHold(ctx, name)
	}
	newest, err := store.Holds(ctx, ledger.Filter{Limit: 1})
	if err == nil && len(newest) == 0 {
		err = ledger.ErrNotFound
	}
	if err != nil {
		return "", err
	}
	return newest[0].ID, nil
}
