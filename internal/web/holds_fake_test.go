package web_test

import (
	"context"
	"fmt"
	"io"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/ledger"
	"boretight/internal/trial"
	"boretight/internal/web"
)

// fakeRecords is a stored log in memory. It notes what it was asked for.
type fakeRecords struct {
	web.Ledger
	holds  []web.WholeHold // newest first
	trials []web.WholeTrial
	pairs  []web.Pair
	slip   web.Slip
	asked  web.Sought
	fault  error // of a comparison
}

func (f *fakeRecords) Hold(_ context.Context, id string) (bench.HoldData, error) {
	whole, err := f.WholeHold(context.Background(), id)
	return whole.HoldData, err
}

func (f *fakeRecords) ListHolds(_ context.Context, of web.Sought) ([]bench.HoldData, error) {
	f.asked = of
	var all []bench.HoldData
	after := of.Before == ""
	for _, h := range f.holds {
		if after && len(all) < of.Limit && (of.Verdict == "" || of.Verdict == string(h.Verdict)) {
			all = append(all, h.HoldData)
		}
		after = after || h.ID == of.Before
	}
	return all, nil
}

func (f *fakeRecords) WholeHold(_ context.Context, id string) (web.WholeHold, error) {
	i := slices.IndexFunc(f.holds, func(h web.WholeHold) bool { return h.ID == id })
	if i < 0 {
		return web.WholeHold{}, fmt.Errorf("look: %w", web.ErrNoHold)
	}
	return f.holds[i], nil
}

func (f *fakeRecords) WriteTrace(_ context.Context, id string, w io.Writer) error {
	if _, err := f.WholeHold(context.Background(), id); err != nil {
		return err
	}
	_, err := io.WriteString(w, "t_s,pressure_pa\r\n0,1\r\n")
	return err
}

func (f *fakeRecords) ListTrials(_ context.Context, of web.Sought) ([]web.TrialRecord, error) {
	f.asked = of
	var all []web.TrialRecord
	for _, t := range f.trials {
		all = append(all, t.TrialRecord)
	}
	return all, nil
}

func (f *fakeRecords) WholeTrial(_ context.Context, id string) (web.WholeTrial, error) {
	i := slices.IndexFunc(f.trials, func(t web.WholeTrial) bool { return t.ID == id })
	if i < 0 {
		return web.WholeTrial{}, web.ErrNoTrial
	}
	return f.trials[i], nil
}

func (f *fakeRecords) CompareTrials(ctx context.Context, found, left string) (c web.Compared, err error) {
	if f.fault != nil {
		return c, f.fault
	}
	if c.Before, err = f.WholeTrial(ctx, found); err != nil {
		return c, err
	}
	if c.After, err = f.WholeTrial(ctx, left); err != nil {
		return c, err
	}
	c.Comparison, err = trial.Compare(c.Before.Result, c.After.Result, trial.SameBench())
	c.Because = []string{"volume: common, the same figure was told"}
	return c, err
}

func (f *fakeRecords) PairsOf(context.Context, string, string) ([]web.Pair, []string, error) {
	return f.pairs, []string{"oboe/lower has no trial as left"}, nil
}

func (f *fakeRecords) SlipOf(_ context.Context, ticket string) (web.Slip, error) {
	if f.slip.Ticket != ticket {
		return web.Slip{}, web.ErrNoTicket
	}
	return f.slip, nil
}

// fakeVoider is a desk that sets holds aside and does nothing else.
type fakeVoider struct {
	web.Desk
	hold, reason string
	fault        error
}

func (d *fakeVoider) Void(_ context.Context, hold, reason string) error {
	if d.fault == nil {
		d.hold, d.reason = hold, reason
	}
	return d.fault
}

// measuredHolds are n holds of a clarinet's upper joint, newest first.
func measuredHolds(t *testing.T, n int) []web.WholeHold {
	t.Helper()
	b := newFake()
	played := b.whole(2.16, 0.022, 9, trial.Pass)
	all := make([]web.WholeHold, n)
	for i := range all {
		h := played
		h.ID = fmt.Sprintf("h%03d", n-i)
		h.On = bench.Setup{Instrument: "clarinet", Joint: "upper", Closure: "all keys closed", When: "as_found", Ticket: "T-1001"}
		all[i].HoldData = h
	}
	return all
}

// measuredTrial is a trial of two holds that leaks q sccm.
func measuredTrial(t *testing.T, id, when string, q float64, verdict trial.Verdict) web.WholeTrial {
	t.Helper()
	b := newFake()
	b.whole(q, 0.02*q, 9, verdict)
	b.whole(q, 0.02*q, 9, verdict)
	snapshot := b.Snapshot()
	result := *snapshot.Gauges[0].Trial
	result.Joint, result.Sign, result.At = "clarinet/upper", "suction", 2500
	var whole web.WholeTrial
	whole.Trial = ledger.Trial{ID: id, Instrument: "clarinet", Joint: "upper", When: when, Ticket: "T-1001", Of: "clarinet/upper", Result: result}
	whole.At = time.Date(2026, 3, 2, 11, 0, 0, 0, time.UTC)
	for i, h := range snapshot.Holds {
		h.ID = fmt.Sprintf("%s-%d", id, i)
		whole.Holds = append(whole.Holds, h.ID)
		whole.Members = append(whole.Members, web.TrialHold{HoldData: h})
	}
	return whole
}

// site of a stored log, with a desk or without.
func siteOf(t *testing.T, records *fakeRecords, desk web.Desk) *web.Site {
	t.Helper()
	site, err := web.New(web.Options{Bench: newFake(), Ledger: records, Desk: desk, Version: "test", House: func() web.House {
		return web.House{Name: "Reed & Bore <Repairs>", Address: "1 Ferry Lane", Location: time.UTC}
	}})
	require.NoError(t, err)
	return site
}
