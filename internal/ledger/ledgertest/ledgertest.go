// Package ledgertest holds what every ledger must do, whatever it is kept in:
// [Run] is the contract as tests, and each store passes it. The rest are the means
// of those tests: a hold that can be written, a writer that runs.
package ledgertest

import (
	"context"
	"encoding/json"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/ledger"
	"boretight/internal/trace"
	"boretight/internal/trial"
)

// Open opens the store of one test, new at the first call and the same again at
// each further one. The caller closes it.
type Open func(t testing.TB) ledger.Store

// Begin returns a begin with all its fields filled.
func Begin(gauge string) ledger.Begin {
	return ledger.Begin{
		ID: ledger.NewID(), Gauge: gauge, Bench: "north", Instrument: "oboe", Joint: "upper", Section: "trill keys", Closure: "all keys closed",
		When: "as_found", Ticket: "T-17", Setup: []byte(`{"volume":3.42e-5}`), Started: time.Now(),
	}
}

// Readings returns n readings from index from on, rate a second: a decay with
// every status and some missing temperatures in it.
func Readings(from, n int, rate float64) []trace.Reading {
	rs := make([]trace.Reading, n)
	for i := range rs {
		k := from + i
		s := float64(k) / rate
		rs[i] = trace.Reading{
			T: time.Duration(s * float64(time.Second)), Pressure: -2600 * math.Exp(-s/20),
			Celsius: 21 + s/1000, Status: trace.Status(k % 8),
		}
		if k%5 == 0 {
			rs[i].Celsius = math.NaN()
		}
	}
	return rs
}

// Outcome returns a judged outcome.
func Outcome(verdict trial.Verdict, sccm float64) trial.Outcome {
	return trial.Outcome{
		Schema: trial.SchemaHold, Sign: "suction", At: 2500, Verdict: verdict,
		LeakRate: &trial.LeakRate{Unit: "Pa·m³/s", Estimate: estimate(sccm * 1.815e-3), Coverage: 0.95},
		SCCM:     new(estimate(sccm)),
	}
}

func estimate(v float64) decay.Estimate {
	return decay.Estimate{Value: v, U: v / 100, Low: v * 0.98, High: v * 1.02}
}

// Start runs a writer to the store and returns it, with a function that stops it
// and waits for its end.
func Start(t testing.TB, s ledger.Sink) (*ledger.Writer, func()) {
	t.Helper()
	w := ledger.NewWriter(s, ledger.WriterOptions{})
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- w.Run(ctx) }()
	return w, func() {
		t.Helper()
		cancel()
		require.NoError(t, <-done)
	}
}

// Write writes one whole hold of n readings and returns its begin and the readings.
func Write(t testing.TB, w *ledger.Writer, b ledger.Begin, n int, o trial.Outcome) []trace.Reading {
	t.Helper()
	rs := Readings(0, n, 100)
	require.NoError(t, w.BeginHold(b))
	require.NoError(t, w.AppendReadings(b.ID, rs))
	r, err := w.EndHold(b.ID, o)
	require.NoError(t, err)
	require.NoError(t, r.Wait(t.Context()))
	return rs
}

// Sound checks the store and fails the test if there is a fault.
func Sound(t testing.TB, s ledger.Store) ledger.Report {
	t.Helper()
	r, err := s.Check(t.Context())
	require.NoError(t, err)
	if !r.OK {
		require.NotNil(t, r.FirstFault)
		require.FailNow(t, "the ledger is not sound", *r.FirstFault)
	}
	require.Equal(t, ledger.SchemaCheck, r.Schema)
	return r
}

// Same compares readings bit by bit; NaN is equal to NaN.
func Same(t testing.TB, want, got []trace.Reading) {
	t.Helper()
	require.Len(t, got, len(want))
	for i := range want {
		require.Equal(t, ledger.AppendReading(nil, want[i]), ledger.AppendReading(nil, got[i]), "reading %d", i)
	}
}

// Content returns the content of a record.
func Content[T any](t testing.TB, r ledger.Record) (content T) {
	t.Helper()
	require.NoError(t, json.Unmarshal(r.Content, &content))
	return content
}
