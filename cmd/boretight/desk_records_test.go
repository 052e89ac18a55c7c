package main

import (
	"bytes"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/ledger"
	"boretight/internal/ledger/sqlite"
	"boretight/internal/trial"
	"boretight/internal/web"
)

// madeUpShop is the shelf of the made-up shop, of which the newest hold was set aside.
func madeUpShop(t *testing.T) (shelf, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "shop.boretight")
	_, err := seedLedger(t.Context(), path)
	require.NoError(t, err)
	store, err := sqlite.Open(t.Context(), path, sqlite.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, store.Close()) })
	newest, err := store.Holds(t.Context(), ledger.Filter{Limit: 1, Ticket: "T-1003"})
	require.NoError(t, err)
	require.Len(t, newest, 1)
	_, err = voidHold(t.Context(), store, newest[0].ID, "finger slipped")
	require.NoError(t, err)
	return shelf{store: store}, newest[0].ID
}

func TestThePageShowsWhatTheLedgerHas(t *testing.T) {
	t.Parallel()
	s, voided := madeUpShop(t)

	t.Run("holds, by words, with what was held", func(t *testing.T) {
		holds, err := s.ListHolds(t.Context(), web.Sought{Words: "flute T-1003", When: "as_left", Limit: 2})
		require.NoError(t, err)
		require.Len(t, holds, 2)
		assert.Equal(t, voided, holds[0].ID)
		assert.Equal(t, "finger slipped", holds[0].Voided)
		assert.Empty(t, holds[1].Voided)
		assert.Equal(t, "flute", holds[0].On.Instrument)
		assert.Equal(t, "body", holds[0].On.Joint)
		assert.Empty(t, holds[0].On.Closure, "closed as usual")
		assert.Positive(t, holds[0].On.Ambient)
		older, err := s.ListHolds(t.Context(), web.Sought{Words: "flute T-1003", When: "as_left", Before: holds[1].ID})
		require.NoError(t, err)
		assert.Len(t, older, 1)
	})

	t.Run("a hold, fitted again", func(t *testing.T) {
		whole, err := s.WholeHold(t.Context(), voided)
		require.NoError(t, err)
		require.NotNil(t, whole.Repeat)
		assert.Equal(t, bench.Agrees, whole.Repeat.Agreement, whole.Repeat.Why)
		require.NotNil(t, whole.Aside)
		assert.Equal(t, "finger slipped", whole.Aside.Reason)
		require.Len(t, whole.Trials, 1)
		assert.Contains(t, whole.Trials[0].Holds, voided)
	})

	t.Run("its readings, as the export command prints them", func(t *testing.T) {
		var file, exported bytes.Buffer
		require.NoError(t, s.WriteTrace(t.Context(), voided, &file))
		h, err := s.store.Hold(t.Context(), voided)
		require.NoError(t, err)
		require.NoError(t, (&exportCmd{}).write(app{out: &exported}, h))
		assert.Equal(t, exported.String(), file.String())
	})

	t.Run("trials as they count now, with their holds", func(t *testing.T) {
		trials, err := s.ListTrials(t.Context(), web.Sought{Words: "T-1003", When: "as_left"})
		require.NoError(t, err)
		require.Len(t, trials, 1)
		assert.Equal(t, 2, trials[0].Result.Holds)
		whole, err := s.WholeTrial(t.Context(), trials[0].ID)
		require.NoError(t, err)
		require.Len(t, whole.Members, 3)
		assert.NotNil(t, whole.Members[2].Aside)
		assert.NotEmpty(t, whole.Members[0].Trace)
	})

	t.Run("as found against as left", func(t *testing.T) {
		pairs, lacking, err := s.PairsOf(t.Context(), "T-1003", "flute/body")
		require.NoError(t, err)
		assert.Empty(t, lacking)
		require.Len(t, pairs, 1)
		c, err := s.CompareTrials(t.Context(), pairs[0].Found, pairs[0].Left)
		require.NoError(t, err)
		require.NotNil(t, c.Ratio)
		assert.NotEmpty(t, c.Because)
		require.NotNil(t, c.Again)
		assert.NotEmpty(t, c.Again.Wedge)

		pairs, lacking, err = s.PairsOf(t.Context(), "T-9999", "")
		require.NoError(t, err)
		assert.Empty(t, pairs)
		assert.Equal(t, []string{"it has no trials as found or as left"}, lacking)
	})

	t.Run("a slip", func(t *testing.T) {
		slip, err := s.SlipOf(t.Context(), "T-1003")
		require.NoError(t, err)
		assert.Equal(t, "flute", slip.Instrument)
		require.Len(t, slip.Joints, 1)
		assert.Equal(t, trial.Fail, slip.Joints[0].Found.Result.Verdict)
		assert.Equal(t, trial.Pass, slip.Joints[0].Left.Result.Verdict)
		require.NotNil(t, slip.Joints[0].Change, "both sides are there")
		compared, err := s.CompareTrials(t.Context(), slip.Joints[0].Found.ID, slip.Joints[0].Left.ID)
		require.NoError(t, err)
		assert.Equal(t, compared.Comparison, *slip.Joints[0].Change, "as on the page that compares them")
		assert.Greater(t, slip.Joints[0].Change.Ratio.Low, 1.0)
	})

	t.Run("what is not there", func(t *testing.T) {
		_, err := s.WholeHold(t.Context(), "none")
		assert.ErrorIs(t, err, web.ErrNoHold)
		assert.ErrorIs(t, s.WriteTrace(t.Context(), "none", &bytes.Buffer{}), web.ErrNoHold)
		_, err = s.WholeTrial(t.Context(), "none")
		assert.ErrorIs(t, err, web.ErrNoTrial)
		_, err = s.SlipOf(t.Context(), "T-9999")
		assert.ErrorIs(t, err, web.ErrNoTicket)
	})

	t.Run("no trial by the begin of its identity", func(t *testing.T) {
		trials, err := s.ListTrials(t.Context(), web.Sought{Limit: 1})
		require.NoError(t, err)
		_, err = s.WholeTrial(t.Context(), trials[0].ID[:30])
		assert.ErrorIs(t, err, web.ErrNoTrial)
	})
}
