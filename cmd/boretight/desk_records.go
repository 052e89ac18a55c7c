package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"boretight/internal/bench"
	"boretight/internal/config"
	"boretight/internal/ledger"
	"boretight/internal/rig"
	"boretight/internal/ticket"
	"boretight/internal/web"
)

var _ web.Records = shelf{}

// ListHolds implements [web.Records].
func (s shelf) ListHolds(ctx context.Context, of web.Sought) ([]bench.HoldData, error) {
	entries, err := s.store.Holds(ctx, filterOf(of))
	if err != nil {
		return nil, unknownAs(err, web.ErrNoHold)
	}
	return s.listed(ctx, entries)
}

func filterOf(of web.Sought) ledger.Filter {
	return ledger.Filter{Limit: of.Limit, Before: of.Before, Search: of.Words, Verdict: of.Verdict, When: of.When}
}

// unknownAs names what the ledger does not have as the page does.
func unknownAs(err, known error) error {
	if errors.Is(err, ledger.ErrNotFound) || errors.Is(err, ledger.ErrAmbiguous) {
		return fmt.Errorf("%w: %w", known, err)
	}
	return err
}

// recordedHold is a hold as its records say, with its readings where h has them.
func recordedHold(h *ledger.Hold, a *aside) (bench.HoldData, error) {
	d, err := holdData(h)
	if err != nil {
		return d, err
	}
	told, err := bench.ReadTold(h.Begin.Setup)
	if err != nil {
		return d, err
	}
	b := h.Begin
	d.On = bench.Setup{
		Bench: b.Bench, Instrument: b.Instrument, Joint: b.Joint, Section: b.Section, Closure: b.Closure,
		When: b.When, Ticket: b.Ticket, VolumeM3: told.Fit.Volume.Value, Ambient: told.Fit.Ambient.Value, At: d.At,
	}
	if a != nil {
		d.Voided = cmp.Or(a.Reason, "the reason was erased")
	}
	return d, nil
}

// WholeHold implements [web.Records]. A hold whose readings are damaged is shown without
// them, and says so.
func (s shelf) WholeHold(ctx context.Context, id string) (web.WholeHold, error) {
	var whole web.WholeHold
	r, err := recordsOf(ctx, s.store, id)
	if err != nil {
		return whole, unknownAs(err, web.ErrNoHold)
	}
	h, err := s.store.Hold(ctx, id)
	damaged := errors.Is(err, ledger.ErrDamaged)
	if damaged {
		h, err = &r.hold, nil
	}
	if err != nil {
		return whole, err
	}
	if whole.HoldData, err = recordedHold(h, r.aside); err != nil {
		return whole, err
	}
	if damaged {
		whole.Press("The readings in the ledger are not those that were recorded, so the hold cannot be redrawn: boretight check says where.")
	} else {
		again, err := bench.Again(h)
		if err != nil {
			return whole, err
		}
		whole.Repeat = &again
	}
	whole.Aside = asideOf(r.aside)
	for _, id := range r.trials {
		t, err := s.store.FindTrial(ctx, id)
		if err != nil {
			return whole, err
		}
		if slices.Contains(t.Holds, h.Begin.ID) {
			whole.Trials = append(whole.Trials, t.Trial)
		}
	}
	whole.Rig, err = s.rigRecordsOf(ctx, whole.RigRecords)
	return whole, err
}

func asideOf(a *aside) *web.Aside {
	if a == nil {
		return nil
	}
	return &web.Aside{At: a.At, Reason: a.Reason}
}

// rigRecordsOf returns the records of the rig with these identities.
func (s shelf) rigRecordsOf(ctx context.Context, ids []string) ([]rig.Record, error) {
	var all []rig.Record
	for _, id := range ids {
		records, err := s.store.About(ctx, id)
		if err != nil {
			return nil, err
		}
		for _, r := range records {
			if r.Kind != ledger.RigMeasured {
				continue
			}
			known, err := decodeRig(r)
			if err != nil {
				return nil, err
			}
			if known.ID == id {
				all = append(all, known)
			}
		}
	}
	return all, nil
}

// WriteTrace implements [web.Records]: the same bytes as those of the export command.
func (s shelf) WriteTrace(ctx context.Context, id string, w io.Writer) error {
	h, err := s.store.Hold(ctx, id)
	if err != nil {
		return unknownAs(err, web.ErrNoHold)
	}
	return alone(h.Trace).Write(w)
}

// ListTrials implements [web.Records].
func (s shelf) ListTrials(ctx context.Context, of web.Sought) ([]web.TrialRecord, error) {
	entries, err := s.store.Trials(ctx, filterOf(of))
	if err != nil {
		return nil, unknownAs(err, web.ErrNoTrial)
	}
	return s.trialRecords(ctx, entries)
}

// trialRecords are trials with their results as they count now. What was set aside, and what
// was told of the room at the last hold of each, is read for all at once.
func (s shelf) trialRecords(ctx context.Context, entries []ledger.TrialEntry) ([]web.TrialRecord, error) {
	var holds, last []string
	for _, e := range entries {
		holds = append(holds, e.Holds...)
		if n := len(e.Holds); n > 0 {
			last = append(last, e.Holds[n-1])
		}
	}
	voided, err := s.store.Voided(ctx, holds)
	if err != nil {
		return nil, err
	}
	records, err := recordsOfEach(ctx, s.store, last)
	if err != nil {
		return nil, err
	}
	all := make([]web.TrialRecord, len(entries))
	for i, e := range entries {
		all[i].TrialEntry = e
		if all[i].Result, err = withoutThose(ctx, s.store, e.Trial, voided); err != nil {
			return nil, err
		}
		if len(e.Holds) == 0 {
			continue
		}
		told, err := bench.ReadTold(records[0].hold.Begin.Setup)
		if err != nil {
			return nil, err
		}
		all[i].Ambient = told.Fit.Ambient.Value
		records = records[1:]
	}
	return all, nil
}

// WholeTrial implements [web.Records].
func (s shelf) WholeTrial(ctx context.Context, id string) (web.WholeTrial, error) {
	var whole web.WholeTrial
	e, err := s.trialNamed(ctx, id)
	if err != nil {
		return whole, err
	}
	counting, err := s.trialRecords(ctx, []ledger.TrialEntry{e})
	if err != nil {
		return whole, err
	}
	whole.TrialRecord = counting[0]
	for _, id := range e.Holds {
		r, err := recordsOf(ctx, s.store, id)
		if err != nil {
			return whole, err
		}
		h, err := s.store.Hold(ctx, id)
		if errors.Is(err, ledger.ErrDamaged) {
			h, err = &r.hold, nil
		}
		if err != nil {
			return whole, err
		}
		data, err := recordedHold(h, r.aside)
		if err != nil {
			return whole, err
		}
		whole.Members = append(whole.Members, web.TrialHold{HoldData: data, Aside: asideOf(r.aside)})
	}
	return whole, nil
}

// trialNamed finds a trial by its whole identity: an address must not change its meaning
// when another trial comes whose identity begins alike.
func (s shelf) trialNamed(ctx context.Context, id string) (ledger.TrialEntry, error) {
	e, err := s.store.FindTrial(ctx, id)
	switch {
	case err != nil:
		return e, unknownAs(err, web.ErrNoTrial)
	case e.ID != id:
		return e, fmt.Errorf("%w: %s", web.ErrNoTrial, id)
	}
	return e, nil
}

// CompareTrials implements [web.Records].
func (s shelf) CompareTrials(ctx context.Context, found, left string) (web.Compared, error) {
	var c web.Compared
	var err error
	if c.Before, err = s.WholeTrial(ctx, found); err != nil {
		return c, err
	}
	if c.After, err = s.WholeTrial(ctx, left); err != nil {
		return c, err
	}
	one, err := compareTrials(ctx, s.store, c.Before.Trial, c.After.Trial)
	if err != nil {
		return c, err
	}
	c.Comparison, c.Because = one.Comparison, one.Because
	c.Again, err = s.again(ctx, c.After)
	return c, err
}

// again fits the last hold of a trial that counts again; nil where its readings are damaged
// or none counts.
func (s shelf) again(ctx context.Context, t web.WholeTrial) (*bench.Repeat, error) {
	for _, m := range slices.Backward(t.Members) {
		if m.Aside != nil || m.LeakRate == nil {
			continue
		}
		h, err := s.store.Hold(ctx, m.ID)
		if errors.Is(err, ledger.ErrDamaged) {
			continue
		}
		if err != nil {
			return nil, err
		}
		repeat, err := bench.Again(h)
		return &repeat, err
	}
	return nil, nil
}

// PairsOf implements [web.Records].
func (s shelf) PairsOf(ctx context.Context, ticket, joint string) (pairs []web.Pair, lacking []string, err error) {
	found, lacking, err := (&compareCmd{Ticket: ticket, Joint: joint}).ofTicket(ctx, s.store)
	if nothing, ok := errors.AsType[*hintedError](err); ok {
		_, why, _ := strings.Cut(nothing.err.Error(), "nothing to compare: ")
		return nil, []string{why}, nil
	}
	for _, p := range found {
		of := inLine(p[0].Of, p[0].Section, p[0].Closure, p[0].Result.Sign)
		pairs = append(pairs, web.Pair{Of: of, Found: p[0].ID, Left: p[1].ID})
	}
	return pairs, lacking, err
}

// SlipOf implements [web.Records]. A label that has no ticket on record still has trials.
func (s shelf) SlipOf(ctx context.Context, id string) (web.Slip, error) {
	slip := web.Slip{Ticket: id}
	kept, err := s.store.Ticket(ctx, id)
	none := errors.Is(err, ledger.ErrNotFound)
	if err != nil && !none {
		return slip, err
	}
	entries, err := s.store.Trials(ctx, ledger.Filter{Ticket: id, Limit: everyTrial})
	if err != nil {
		return slip, err
	}
	if none && len(entries) == 0 {
		return slip, fmt.Errorf("%w: %s", web.ErrNoTicket, id)
	}
	entries = slices.DeleteFunc(entries, func(e ledger.TrialEntry) bool { return e.When == "" })
	trials, err := s.trialRecords(ctx, entries)
	if err != nil {
		return slip, err
	}
	for _, t := range slices.Backward(trials) { // the latest comes last and stays
		slip.Instrument = cmp.Or(slip.Instrument, t.Instrument)
		j := slipJoint(&slip, t.Trial)
		if t.When == config.AsLeft {
			j.Left = &t
		} else {
			j.Found = &t
		}
	}
	if !none {
		ofTicket(&slip, kept)
	}
	s.compareSides(ctx, slip.Joints)
	return slip, nil
}

// compareSides sets as found against as left where there are both. What cannot be compared
// keeps why: it is no reason to print nothing.
func (s shelf) compareSides(ctx context.Context, joints []web.SlipJoint) {
	for i := range joints {
		j := &joints[i]
		if j.Found == nil || j.Left == nil {
			continue
		}
		c, err := s.Improved(ctx, j.Found.Trial, j.Left.Trial)
		if err != nil {
			j.Uncompared = err
			continue
		}
		j.Change = &c
	}
}

// ofTicket adds to a slip what the ticket tells: its joints come in the ticket's order, and
// those that were not measured say so.
func ofTicket(slip *web.Slip, t ticket.Ticket) {
	slip.Opened, slip.Closed = t.Opened, t.Closed
	slip.Instrument, slip.Maker, slip.Model, slip.Serial = t.Instrument.Template, t.Instrument.Maker, t.Instrument.Model, t.Instrument.Serial
	slip.Customer, slip.Remark = t.Customer.Name, t.Remark
	for _, w := range t.Work {
		slip.Work = append(slip.Work, web.SlipWork{Joint: w.Joint, Seat: w.Seat, Did: w.Did})
	}
	for _, joint := range t.Joints {
		if !slices.ContainsFunc(slip.Joints, func(j web.SlipJoint) bool { return j.Joint == joint }) {
			slip.Joints = append(slip.Joints, web.SlipJoint{Joint: joint})
		}
	}
	place := func(j web.SlipJoint) int {
		if i := slices.Index(t.Joints, j.Joint); i >= 0 {
			return i
		}
		return len(t.Joints)
	}
	slices.SortStableFunc(slip.Joints, func(a, b web.SlipJoint) int { return cmp.Compare(place(a), place(b)) })
}

// slipJoint returns the line of a slip that a trial belongs to.
func slipJoint(slip *web.Slip, t ledger.Trial) *web.SlipJoint {
	of := web.SlipJoint{Joint: t.Joint, Section: t.Section, Closure: t.Closure}
	i := slices.IndexFunc(slip.Joints, func(j web.SlipJoint) bool {
		return j.Joint == of.Joint && j.Section == of.Section && j.Closure == of.Closure
	})
	if i < 0 {
		slip.Joints, i = append(slip.Joints, of), len(slip.Joints)
	}
	return &slip.Joints[i]
}
