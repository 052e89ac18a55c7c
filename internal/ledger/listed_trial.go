package ledger

import (
	"context"
	"encoding/json"
	"fmt"
	"time"
)

// ListedTrial is a row of the list of trials: where the trial's newest record is, and by
// what lists find it.
type ListedTrial struct {
	ID string
	// At and Newest are the place of its newest record; the hash is not filled in.
	At     time.Time
	Newest Head

	Instrument, Joint, Section, When, Ticket, Verdict string
}

// NewListedTrial returns the row that a trial record makes.
func NewListedTrial(r Record) (ListedTrial, error) {
	var t Trial
	if err := json.Unmarshal(r.Content, &t); err != nil {
		return ListedTrial{}, fmt.Errorf("read content of a %s record: %w", r.Kind, err)
	}
	return ListedTrial{
		ID: t.ID, At: r.At, Newest: Head{Chain: r.Chain, N: r.N},
		Instrument: t.Instrument, Joint: t.Joint, Section: t.Section, When: t.When, Ticket: t.Ticket, Verdict: string(t.Result.Verdict),
	}, nil
}

// trial looks whether the list has the trial of a record, and no older one. Each row is
// compared with the one record that it names; finish counts that no row names another.
func (a *auditor) trial(ctx context.Context, where string, r Record) error {
	want, err := NewListedTrial(r)
	if err != nil {
		a.Fault("%s: %v", where, err)
		return nil
	}
	got, err := a.src.ListedTrial(ctx, want.ID)
	switch {
	case err != nil:
		return err
	case got == nil:
		a.Fault("%s: trial %s is not in the list of trials", where, want.ID)
	case got.Newest == want.Newest:
		a.trials++
		if *got != want {
			a.Fault("%s: the list of trials differs from it", where)
		}
	case standing(got.At, got.Newest, r) < 0:
		a.Fault("%s: the list of trials names an older record of trial %s", where, want.ID)
	}
	return nil
}

// trialsListed looks whether the list has trials that the records have not.
func (a *auditor) trialsListed(ctx context.Context) error {
	n, err := a.src.TrialsListed(ctx)
	if err == nil && n != a.trials {
		a.Fault("the list has %d trials, the records %d that it names", n, a.trials)
	}
	return err
}
