package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/ticket"
	"boretight/internal/trial"
	"boretight/internal/web"
)

func TestThePageReadsTheMadeUpShopsTickets(t *testing.T) {
	t.Parallel()
	b, _ := openShop(t)
	_, err := seedTickets[0].seed(t.Context(), b, seedRandom())
	require.NoError(t, err)
	shop := newShopCatalog(true)
	s := shelf{store: b.store, catalog: shop.load}

	visit, err := s.Ticket(t.Context(), "T-1001")
	require.NoError(t, err)
	assert.Equal(t, seedPlayer.Name, visit.Customer.Name)
	assert.Len(t, visit.Work, 2)
	assert.False(t, visit.Open())

	trials, err := s.TrialsOf(t.Context(), visit.ID)
	require.NoError(t, err)
	require.Len(t, trials, 2)
	left, found := trials[0], trials[1]
	assert.Equal(t, []string{ticket.AsFound, ticket.AsLeft}, []string{found.When, left.When})
	assert.Equal(t, trial.Fail, found.Result.Verdict)
	assert.NotZero(t, found.Ambient)
	c, err := s.Improved(t.Context(), found.Trial, left.Trial)
	require.NoError(t, err)
	require.NotNil(t, c.Ratio)
	assert.InDelta(t, 8.1/1.1, *c.Ratio.Value, 0.2)
	assert.True(t, c.Common.Volume, "one bench, one day: what is common cancels")

	require.NoError(t, shop.keep("oboe", widerPad("9.25 mm")))
	kinds, err := s.Templates(t.Context())
	require.NoError(t, err)
	known, err := shop.load()
	require.NoError(t, err)
	assert.Equal(t, known.Instruments(), kinds, "with the shop's own changes, those of a demo too")
	for name, ask := range map[string]func() error{
		"ticket":              func() error { _, err := s.Ticket(t.Context(), "T-9"); return err },
		"page after a ticket": func() error { _, err := s.Tickets(t.Context(), ledger.TicketFilter{Before: "T-9"}); return err },
		"change": func() error {
			_, err := (&desk{book: b}).KeepTicket(t.Context(), ticket.Ticket{ID: "T-9", Instrument: seedOboe, Joints: []string{"upper"}})
			return err
		},
		"work": func() error {
			_, err := (&desk{book: b}).AddWork(t.Context(), "T-9", ticket.Work{Did: "oiled"})
			return err
		},
	} {
		assert.ErrorIs(t, ask(), web.ErrNoTicket, name)
	}
	_, err = s.Instrument(t.Context(), "none")
	assert.ErrorIs(t, err, web.ErrNoInstrument)
}

func TestAReturningInstrumentIsTheSameOne(t *testing.T) {
	t.Parallel()
	b, _ := openShop(t)
	first, err := seedTickets[0].open(t.Context(), b)
	require.NoError(t, err)
	again, err := seedTickets[3].open(t.Context(), b)
	require.NoError(t, err)
	assert.Equal(t, first.Instrument, again.Instrument)
	assert.Equal(t, first.Customer, again.Customer)

	other := ticket.Ticket{Instrument: ticket.Instrument{Template: "oboe", Maker: "Pellworth", Serial: seedOboe.Serial}, Joints: []string{"upper"}}
	told, err := seenBefore(t.Context(), b.store, other)
	require.NoError(t, err)
	assert.Equal(t, other, told, "another maker's number is another instrument")
}
