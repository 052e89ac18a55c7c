//go:build unix

package main

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/trace"
)

func TestAReplugCostsNothingButTheHold(t *testing.T) {
	// How long it took is told and not asserted: that is for the machine it runs on.
	var out strings.Builder
	err := run(t.Context(), options{rounds: 2, seed: 7}, &out)
	t.Log("\n" + out.String())
	require.NoError(t, err)
	assert.Regexp(t, `at rest +2 +2 `, out.String())
	assert.Regexp(t, `in a hold +2 +2 +\d+ +\d+ +2 +0`, out.String())
}

func TestADoubledReadingIsSeen(t *testing.T) {
	sent := []float64{1, 2, 3, 4, 5}
	for _, c := range []struct {
		name string
		kept []float64
		want int
	}{
		{"all of the middle", []float64{2, 3, 4}, 0},
		{"one twice", []float64{2, 3, 3, 4}, 2},
		{"two that changed places", []float64{2, 4, 3}, 3},
	} {
		var h ledger.Hold
		h.End = &ledger.End{Outcome: []byte(`{"hold":{"ending":"cut"},"notes":["The hold was cut short: x."]}`)}
		for i, p := range c.kept {
			h.Trace.Readings = append(h.Trace.Readings, trace.Reading{T: time.Duration(i) * period, Pressure: p})
		}
		var k kept
		require.NoError(t, k.one(&h, sent), c.name)
		assert.Equal(t, c.want, k.disorder, c.name)
		assert.Equal(t, 1, k.marked, c.name)
	}
}
