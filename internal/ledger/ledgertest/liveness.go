package ledgertest

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/trial"
)

// leaveOpen commits the begin and the readings of a hold as a writer that then goes away.
func leaveOpen(t *testing.T, s ledger.Store) ledger.Begin {
	t.Helper()
	b := Begin("north")
	b.Writer = ledger.NewID()
	batch := wholeBatch(b)
	batch.Steps = batch.Steps[:2]
	_, err := s.Commit(t.Context(), batch)
	require.NoError(t, err)
	return b
}

// openHold is the hold as the store shows it to another writer.
func openHold(t *testing.T, s ledger.Store, id string) ledger.OpenHold {
	t.Helper()
	open, err := s.Abandoned(t.Context(), ledger.NewID())
	require.NoError(t, err)
	for _, h := range open {
		if h.ID == id {
			return h
		}
	}
	require.FailNow(t, "the hold is not open")
	return ledger.OpenHold{}
}

func interrupted(t *testing.T, s ledger.Store) {
	b := leaveOpen(t, s)
	r := Sound(t, s) // watches the writer
	assert.EqualValues(t, 1, r.Interrupted)
	assert.EqualValues(t, 2, r.Records, "a check appends nothing")

	h := openHold(t, s, b.ID)
	done, err := s.Interrupt(t.Context(), h, time.Now())
	require.NoError(t, err)
	assert.True(t, done)
	done, err = s.Interrupt(t.Context(), h, time.Now())
	require.NoError(t, err)
	assert.False(t, done, "it is ended once")

	kept, err := s.Hold(t.Context(), b.ID)
	require.NoError(t, err)
	Same(t, Readings(0, 10, 100), kept.Trace.Readings)
	require.NotNil(t, kept.End)
	assert.True(t, kept.End.Interrupted)
	assert.EqualValues(t, 10, kept.End.Readings)
	assert.EqualValues(t, 1, Sound(t, s).Interrupted)
}

func alive(t *testing.T, s ledger.Store) {
	b := leaveOpen(t, s)
	h := openHold(t, s, b.ID)
	_, err := s.Commit(t.Context(), ledger.Batch{Writer: b.Writer, At: time.Now()})
	require.NoError(t, err)
	done, err := s.Interrupt(t.Context(), h, time.Now())
	require.NoError(t, err)
	assert.False(t, done, "its beat has moved since it was looked at")
	done, err = s.Interrupt(t.Context(), openHold(t, s, b.ID), time.Now())
	require.NoError(t, err)
	assert.True(t, done)
}

func takenOver(t *testing.T, s ledger.Store) {
	w, stop := Start(t, s)
	defer stop()
	// The first hold proves by its receipt that the begin of the second is written.
	b, first := Begin("north"), Begin("south")
	require.NoError(t, w.BeginHold(b))
	require.NoError(t, w.AppendReadings(b.ID, Readings(0, 100, 100)))
	Write(t, w, first, 3, Outcome(trial.Pass, 1))
	for done := false; !done; {
		var err error
		done, err = s.Interrupt(t.Context(), openHold(t, s, b.ID), time.Now())
		require.NoError(t, err)
	}
	r, err := w.EndHold(b.ID, Outcome(trial.Pass, 1))
	if err == nil {
		err = r.Wait(t.Context())
	}
	assert.ErrorIs(t, err, ledger.ErrInterrupted)
}
