package sqlite_test

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/ledger/ledgertest"
	"boretight/internal/ledger/sqlite"
	"boretight/internal/trial"
)

// BenchmarkTick is what one tick of eight gauges at 1 kHz costs: eight blocks of
// 200 readings in one durable transaction. A tick may take 200 ms.
func BenchmarkTick(b *testing.B) {
	db := opened(b, filepath.Join(b.TempDir(), "ledger.db"))
	var data []byte
	for _, r := range ledgertest.Readings(0, 200, 1000) {
		data = ledger.AppendReading(data, r)
	}
	batch := ledger.Batch{Writer: ledger.NewID(), At: time.Now()}
	for range 8 {
		begin := ledgertest.Begin("north")
		begin.Writer = batch.Writer
		batch.Steps = append(batch.Steps, ledger.Step{Begin: &begin})
	}
	_, err := db.Commit(b.Context(), batch)
	require.NoError(b, err)
	steps := make([]ledger.Step, 8)
	b.ReportAllocs()
	n := int64(0)
	for b.Loop() {
		for i := range steps {
			steps[i].Block = &ledger.Block{Hold: batch.Steps[i].Begin.ID, First: 200 * n, Count: 200, Data: data}
		}
		n++
		_, err := db.Commit(b.Context(), ledger.Batch{Writer: batch.Writer, At: time.Now(), Steps: steps})
		require.NoError(b, err)
	}
	b.ReportMetric(8*float64(b.N)/b.Elapsed().Seconds(), "blocks/s")
}

// BenchmarkAppendReadings is what the acquisition of one gauge spends on ten readings.
func BenchmarkAppendReadings(b *testing.B) {
	w := ledger.NewWriter(nil, ledger.WriterOptions{})
	begin := ledgertest.Begin("north")
	require.NoError(b, w.BeginHold(begin))
	rs := ledgertest.Readings(0, 10, 1000)
	b.ReportAllocs()
	for b.Loop() {
		_ = w.AppendReadings(begin.ID, rs)
	}
}

// large makes a ledger of n short holds, many in one transaction.
func large(b *testing.B, n int) string {
	b.Helper()
	path := filepath.Join(b.TempDir(), "ledger.db")
	db := open(b, path)
	outcome, err := ledger.Canonical(ledgertest.Outcome(trial.Pass, 2))
	require.NoError(b, err)
	batch := ledger.Batch{Writer: ledger.NewID(), At: time.Now()}
	for i := range n {
		begin := ledgertest.Begin("north")
		begin.Writer = batch.Writer
		end := ledger.End{ID: begin.ID, SHA256: ledger.Sum(nil), Ended: time.Now(), Outcome: outcome}
		batch.Steps = append(batch.Steps, ledger.Step{Begin: &begin}, ledger.Step{End: &end})
		if len(batch.Steps) == 10_000 || i == n-1 {
			_, err := db.Commit(b.Context(), batch)
			require.NoError(b, err)
			batch.Steps = batch.Steps[:0]
		}
	}
	require.NoError(b, db.Leave(b.Context(), batch.Writer))
	require.NoError(b, db.Close())
	return path
}

func BenchmarkLargeLedger(b *testing.B) {
	path := large(b, 100_000)
	b.Run("open", func(b *testing.B) {
		for b.Loop() {
			require.NoError(b, open(b, path).Close())
		}
	})
	db := opened(b, path)
	b.Run("newest page of 50", func(b *testing.B) {
		for b.Loop() {
			page, err := db.Holds(b.Context(), ledger.Filter{Limit: 50})
			require.NoError(b, err)
			require.Len(b, page, 50)
		}
	})
	b.Run("page of a joint in the middle", func(b *testing.B) {
		first, err := db.Holds(b.Context(), ledger.Filter{Limit: 50_000})
		require.NoError(b, err)
		f := ledger.Filter{Limit: 50, Instrument: "oboe", Joint: "upper", Before: first[len(first)-1].ID}
		for b.Loop() {
			page, err := db.Holds(b.Context(), f)
			require.NoError(b, err)
			require.Len(b, page, 50)
		}
	})
	b.Run("check", func(b *testing.B) {
		read, err := sqlite.OpenReadOnly(b.Context(), path)
		require.NoError(b, err)
		defer read.Close()
		for b.Loop() {
			r := ledgertest.Sound(b, read)
			require.EqualValues(b, 100_000, r.Holds)
		}
	})
}
