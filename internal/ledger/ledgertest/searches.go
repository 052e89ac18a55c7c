package ledgertest

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/ticket"
	"boretight/internal/trial"
)

// shop keeps three tickets of two customers and two instruments, each with a hold and a trial
// as found of its first joint, and a hold without a ticket. It returns them, oldest first, with
// the holds' and the trials' identities.
func shop(t *testing.T, s ledger.Store) (visits []ticket.Ticket, holds, trials []string) {
	t.Helper()
	w, stop := Start(t, s)
	defer stop()
	first := keep(t, s, Visit())
	flute := Visit()
	flute.Instrument = ticket.Instrument{Template: "flute", Maker: "Weir", Serial: "77"}
	flute.Joints = []string{"body"}
	flute.Customer = ticket.Customer{Name: "Bell, Otto", Contact: "otto@example.org"}
	second := keep(t, s, flute)
	third := keep(t, s, ticket.Ticket{Instrument: first.Instrument, Joints: []string{"lower", "bell"}, Customer: first.Customer})
	visits = []ticket.Ticket{first, second, third}
	for i, v := range visits {
		verdict := []trial.Verdict{trial.Pass, trial.Fail, trial.Inconclusive}[i]
		b := Begin("north")
		b.Ticket, b.Instrument, b.Joint, b.Section, b.When = v.ID, v.Instrument.Template, v.Joints[0], "", ticket.AsFound
		Write(t, w, b, 3, Outcome(verdict, 1))
		tr := ledger.Trial{ID: ledger.NewID(), Holds: []string{b.ID}, Ticket: v.ID, Instrument: b.Instrument, Joint: b.Joint,
			When: b.When, Result: trial.Trial{Schema: trial.SchemaTrial, Verdict: verdict, LeakRate: Outcome(verdict, 1).LeakRate}}
		_, err := s.Append(t.Context(), tr.Draft())
		require.NoError(t, err)
		holds, trials = append(holds, b.ID), append(trials, tr.ID)
	}
	alone := Begin("south")
	alone.Ticket, alone.Section, alone.When = "BENCH-7", "low keys", ticket.AsLeft
	Write(t, w, alone, 3, Outcome(trial.Pass, 1))
	return visits, append(holds, alone.ID), trials
}

func searches(t *testing.T, s ledger.Store) {
	visits, holds, trials := shop(t, s)
	for _, c := range []struct {
		search                string
		tickets, holds, trial []int // indices, newest first
	}{
		{"", []int{2, 1, 0}, []int{3, 2, 1, 0}, []int{2, 1, 0}},
		{"  ADA ", []int{2, 0}, []int{2, 0}, []int{2, 0}},
		{"ada quill inconclusive", nil, []int{2}, []int{2}},
		{"oboe", []int{2, 0}, []int{3, 2, 0}, []int{2, 0}},
		{"oboe ada", []int{2, 0}, []int{2, 0}, []int{2, 0}},
		{"bell", []int{1}, []int{1}, []int{1}},
		{"otto@ex", []int{1}, []int{1}, []int{1}},
		{"fail flu", nil, []int{1}, []int{1}},
		{"flute upper", nil, nil, nil},
		{"1187", []int{2, 0}, []int{2, 0}, []int{2, 0}},
		{"ab-11 marsh", []int{2, 0}, []int{2, 0}, []int{2, 0}},
		{"t-100", []int{2, 1, 0}, []int{2, 1, 0}, []int{2, 1, 0}},
		{"1002", []int{1}, []int{1}, []int{1}},
		{"bench-7", nil, []int{3}, nil},
		{"as_left low", nil, []int{3}, nil},
		{"found lower", nil, []int{2}, []int{2}},
		{"nobody", nil, nil, nil},
		{"%", []int{2, 1, 0}, []int{3, 2, 1, 0}, []int{2, 1, 0}},
	} {
		var ids []string
		for _, i := range c.tickets {
			ids = append(ids, visits[i].ID)
		}
		assert.Equal(t, ids, ticketIDs(t, s, ledger.TicketFilter{Search: c.search}), "tickets %q", c.search)
		assert.Equal(t, pick(holds, c.holds), holdIDs(t, s, ledger.Filter{Search: c.search}), "holds %q", c.search)
		assert.Equal(t, pick(trials, c.trial), trialIDs(t, s, ledger.Filter{Search: c.search}), "trials %q", c.search)
	}
}

func narrowed(t *testing.T, s ledger.Store) {
	visits, holds, trials := shop(t, s)
	oboe := visits[0].Instrument.ID
	for _, c := range []struct {
		filter        ledger.Filter
		holds, trials []int
	}{
		{ledger.Filter{InstrumentID: oboe}, []int{2, 0}, []int{2, 0}},
		{ledger.Filter{InstrumentID: oboe, Limit: 1}, []int{2}, []int{2}},
		{ledger.Filter{InstrumentID: oboe, Search: "lower"}, []int{2}, []int{2}},
		{ledger.Filter{InstrumentID: ledger.NewID()}, nil, nil},
		{ledger.Filter{When: ticket.AsLeft}, []int{3}, nil},
		{ledger.Filter{When: ticket.AsFound, Limit: 2}, []int{2, 1}, []int{2, 1}},
		{ledger.Filter{Section: "low keys"}, []int{3}, nil},
		{ledger.Filter{Instrument: "oboe", When: ticket.AsFound}, []int{2, 0}, []int{2, 0}},
		{ledger.Filter{Instrument: "oboe", Search: "ada", Verdict: "pass"}, []int{0}, []int{0}},
		{ledger.Filter{Ticket: visits[1].ID, Search: "oboe"}, nil, nil},
		{ledger.Filter{Search: "pass", Limit: 1}, []int{3}, []int{0}},
	} {
		assert.Equal(t, pick(holds, c.holds), holdIDs(t, s, c.filter), "holds %+v", c.filter)
		assert.Equal(t, pick(trials, c.trials), trialIDs(t, s, c.filter), "trials %+v", c.filter)
	}
	assert.Equal(t, pick(holds, []int{1, 0}), holdIDs(t, s, ledger.Filter{Search: "as_found", Before: holds[2]}))
	assert.Equal(t, pick(trials, []int{0}), trialIDs(t, s, ledger.Filter{Search: "ada", Before: trials[2]}))
	assert.Equal(t, []string{visits[1].ID}, ticketIDs(t, s, ledger.TicketFilter{Before: visits[2].ID, Limit: 1}))
	assert.Equal(t, []string{visits[2].ID, visits[0].ID}, ticketIDs(t, s, ledger.TicketFilter{Instrument: oboe}))
	visits[2].Closed = visits[2].Opened.Add(time.Hour)
	keep(t, s, visits[2])
	assert.Equal(t, []string{visits[1].ID, visits[0].ID}, ticketIDs(t, s, ledger.TicketFilter{Open: true}))
	_, err := s.Tickets(t.Context(), ledger.TicketFilter{Before: "T-1"})
	assert.ErrorIs(t, err, ledger.ErrNotFound)
	_, err = s.Instruments(t.Context(), ledger.InstrumentFilter{Before: "T-1"})
	assert.ErrorIs(t, err, ledger.ErrNotFound)
}

func lookups(t *testing.T, s ledger.Store) {
	visits, _, trials := shop(t, s)
	counts, err := s.HoldCounts(t.Context(), []string{visits[0].ID, visits[1].ID, "BENCH-7", "T-9"})
	require.NoError(t, err)
	assert.Equal(t, map[string]int{visits[0].ID: 1, visits[1].ID: 1, "BENCH-7": 1}, counts)
	counts, err = s.HoldCounts(t.Context(), nil)
	require.NoError(t, err)
	assert.Empty(t, counts)

	points, err := s.Trend(t.Context(), visits[0].Instrument.ID)
	require.NoError(t, err)
	require.Len(t, points, 2)
	assert.Equal(t, []string{trials[0], trials[2]}, []string{points[0].Trial, points[1].Trial}, "oldest first")
	want := Outcome(trial.Pass, 1).LeakRate
	points[0].At = time.Time{}
	assert.Equal(t, ledger.TrendPoint{Trial: trials[0], Ticket: visits[0].ID, Joint: "upper", When: ticket.AsFound, Verdict: "pass",
		HasRate: true, Rate: want.Value, U: want.U, Low: want.Low, High: want.High}, points[0])

	for search, want := range map[string][]string{"": {"oboe", "flute"}, "quill 1187": {"oboe"}, "weir": {"flute"}, "ada weir": nil} {
		found, err := s.Instruments(t.Context(), ledger.InstrumentFilter{Search: search})
		require.NoError(t, err)
		var got []string
		for _, e := range found {
			got = append(got, e.Template)
		}
		assert.Equal(t, want, got, search)
	}
	found, err := s.Instruments(t.Context(), ledger.InstrumentFilter{Before: visits[0].Instrument.ID})
	require.NoError(t, err)
	require.Len(t, found, 1)
	assert.Equal(t, visits[1].Customer, found[0].Customer)
}

func pick(ids []string, indices []int) (picked []string) {
	for _, i := range indices {
		picked = append(picked, ids[i])
	}
	return picked
}

func ticketIDs(t *testing.T, s ledger.Store, f ledger.TicketFilter) (ids []string) {
	t.Helper()
	found, err := s.Tickets(t.Context(), f)
	require.NoError(t, err)
	for _, e := range found {
		ids = append(ids, e.ID)
	}
	return ids
}

func holdIDs(t *testing.T, s ledger.Store, f ledger.Filter) (ids []string) {
	t.Helper()
	found, err := s.Holds(t.Context(), f)
	require.NoError(t, err)
	for _, e := range found {
		ids = append(ids, e.ID)
	}
	return ids
}

func trialIDs(t *testing.T, s ledger.Store, f ledger.Filter) (ids []string) {
	t.Helper()
	found, err := s.Trials(t.Context(), f)
	require.NoError(t, err)
	for _, e := range found {
		ids = append(ids, e.ID)
	}
	return ids
}
