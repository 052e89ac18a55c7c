package ledger_test

import (
	"encoding/hex"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/ledger/ledgertest"
	"boretight/internal/trace"
)

func TestLayoutOfAReading(t *testing.T) {
	// Written out by hand from the layout in the comment of Block: -2.5 kPa is
	// c0a3880000000000, 21.5 °C is 4035800000000000 (IEEE 754 binary64).
	b := ledger.AppendReading(nil, trace.Reading{T: 258 * time.Nanosecond, Pressure: -2500, Celsius: 21.5, Status: trace.SupplyLow})
	assert.Equal(t, "0201000000000000"+"000000000088a3c0"+"0000000000803540"+"04", hex.EncodeToString(b))
	b = ledger.AppendReading(nil, trace.Reading{Celsius: math.Float64frombits(0xfff8000000000007)})
	assert.Equal(t, "010000000000f87f", hex.EncodeToString(b[16:24]), "one form of no temperature")
}

func FuzzBlockComesBackExactly(f *testing.F) {
	f.Add(int64(0), uint64(0), uint64(0), byte(0))
	f.Add(int64(-1), math.Float64bits(math.Inf(1)), math.Float64bits(math.NaN()), byte(255))
	f.Fuzz(func(t *testing.T, ns int64, pressure, celsius uint64, status byte) {
		r := trace.Reading{T: time.Duration(ns), Pressure: math.Float64frombits(pressure),
			Celsius: math.Float64frombits(celsius), Status: trace.Status(status)}
		data := ledger.AppendReading(nil, r)
		rs, err := ledger.Block{Count: 1, Data: data}.Readings()
		require.NoError(t, err)
		ledgertest.Same(t, []trace.Reading{r}, rs)
	})
}

func TestABlockOfAnotherLengthIsRefused(t *testing.T) {
	_, err := ledger.Block{Count: 2, Data: make([]byte, 49)}.Readings()
	assert.ErrorContains(t, err, "49 bytes for 2 readings")
	_, err = ledger.Block{Count: -1}.Readings()
	assert.Error(t, err)
}

func TestAnyFieldOfARecordIsInItsHash(t *testing.T) {
	before := ledger.Head{Chain: "c", N: 4, Hash: ledger.Sum([]byte("before"))}
	r := before.Next(time.UnixMicro(1_764_000_000_000_000), "note", []byte(`{"a":1}`))
	require.NoError(t, r.Follows(before))
	for name, change := range map[string]func(*ledger.Record){
		"chain":   func(r *ledger.Record) { r.Chain = "d" },
		"number":  func(r *ledger.Record) { r.N++ },
		"time":    func(r *ledger.Record) { r.At = r.At.Add(time.Microsecond) },
		"kind":    func(r *ledger.Record) { r.Kind = "void" },
		"content": func(r *ledger.Record) { r.Content = []byte(`{"a":2}`) },
		"content and its hash": func(r *ledger.Record) {
			r.Content = []byte(`{"a":2}`)
			r.ContentHash = ledger.Sum(r.Content)
		},
		"previous hash": func(r *ledger.Record) { r.Prev[0]++ },
		"own hash":      func(r *ledger.Record) { r.Hash[31]++ },
	} {
		changed := r
		change(&changed)
		assert.Error(t, changed.Follows(before), name)
	}
}
