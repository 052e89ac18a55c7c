package main

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/ledger"
)

func TestAStoredHoldIsShownWithWhatItWasOfAgainstItsRest(t *testing.T) {
	t.Parallel()
	b, _, trials := seeded(t)
	id := trials[0].Holds[2] // whose readings begin in the hold before
	_, err := voidHold(t.Context(), b.store, id, "a finger slipped")
	require.NoError(t, err)
	page := shelf{store: b.store}
	h, err := page.Hold(t.Context(), id)
	require.NoError(t, err)
	assert.Equal(t, "a finger slipped", h.Voided)
	assert.Equal(t, "oboe/upper", h.On.Name())
	assert.Equal(t, "T-1001", h.On.Ticket)
	require.NotEmpty(t, h.Trace)
	assert.InDelta(t, 0, h.Trace[len(h.Trace)-1].Pressure, 10, "vented")
	listed, err := page.Holds(t.Context(), "", 100)
	require.NoError(t, err)
	require.Len(t, listed, 6)
	assert.Equal(t, id, listed[0].ID)
	assert.Equal(t, "a finger slipped", listed[0].Voided)
	assert.Empty(t, listed[1].Voided)
}

// A gauge that shows the pressure in the bore itself is drawn like any other.
func TestAStoredHoldOfAnAbsoluteGaugeIsDrawnAgainstItsRest(t *testing.T) {
	t.Parallel()
	b, _, trials := seeded(t)
	h, err := b.store.Hold(t.Context(), trials[0].Holds[0])
	require.NoError(t, err)
	was, err := holdData(h)
	require.NoError(t, err)
	for i := range h.Trace.Readings {
		h.Trace.Readings[i].Pressure += 98_300
	}
	h.End.Parts.RestLevel += 98_300
	now, err := holdData(h)
	require.NoError(t, err)
	require.Len(t, now.Trace, len(was.Trace))
	for i := range now.Trace {
		require.InDelta(t, was.Trace[i].Pressure, now.Trace[i].Pressure, 1e-6)
	}
}

func TestEveryHoldOfTheMadeUpShopIsRepeated(t *testing.T) {
	t.Parallel()
	b, _ := openShop(t)
	n := 0
	random := seedRandom()
	for _, ticket := range seedTickets {
		added, err := ticket.seed(t.Context(), b, random)
		require.NoError(t, err)
		n += added
	}
	holds, err := b.store.Holds(t.Context(), ledger.Filter{Limit: 1000})
	require.NoError(t, err)
	require.Len(t, holds, n)
	for i, e := range holds {
		h, err := b.store.Hold(t.Context(), e.ID)
		require.NoError(t, err)
		again, err := bench.Again(h)
		require.NoError(t, err)
		assert.Equal(t, bench.Agrees, again.Agreement, fmt.Sprintf("%d: %s", i, again.Why))
		require.NotNil(t, again.Fit.LeakRate)
		assert.InDelta(t, *e.LeakRate, again.Fit.LeakRate.Value, 0.01**e.U)
	}
}

func TestAHoldWithoutItsEndSaysWhetherItGoesOn(t *testing.T) {
	under, err := holdData(&ledger.Hold{})
	require.NoError(t, err)
	assert.Equal(t, bench.BeingMeasured, under.Unended)
	cut, err := holdData(&ledger.Hold{End: &ledger.End{Interrupted: true}})
	require.NoError(t, err)
	assert.Equal(t, bench.Interrupted, cut.Unended)
}
