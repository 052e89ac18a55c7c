package gauge_test

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge"
	"boretight/internal/gauge/sim"
)

func TestASimulatedGaugeIsAGaugeLikeAnyOther(t *testing.T) {
	name := sim.Names()[0].Name
	synctest.Test(t, func(t *testing.T) {
		sink := newRecorder()
		g := open(t, "sim:"+name)
		r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
		time.Sleep(10 * time.Second)
		synctest.Wait()
		stats := r.Stats()
		assert.True(t, stats.Up)
		assert.True(t, stats.Identity.Known)
		assert.InDelta(t, 10*stats.Identity.RateHz, float64(stats.Readings), 0.05*10*stats.Identity.RateHz)
		r.stop()
		require.NoError(t, r.ended(t))
	})
}

func TestTheSeedDecidesWhatASimulatedGaugeSays(t *testing.T) {
	name := sim.Names()[0].Name
	say := func(query string) (first []float64) {
		synctest.Test(t, func(t *testing.T) {
			sink := newRecorder()
			g := open(t, "sim:"+name+query)
			r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
			sink.await(t, 20)
			r.stop()
			require.NoError(t, r.ended(t))
			for _, v := range sink.readings[:20] {
				first = append(first, v.Pressure)
			}
		})
		return first
	}
	assert.Equal(t, say(""), say("?seed=1"), "the options' seed is 1")
	assert.NotEqual(t, say(""), say("?seed=2"))
}

func TestAnUnknownSimulatedGaugeIsRefusedWhenOpened(t *testing.T) {
	a, err := gauge.ParseAddress("sim:nonesuch")
	require.NoError(t, err)
	_, err = gauge.Open(a, gauge.Options{})
	assert.ErrorContains(t, err, "gauge sim:nonesuch: ")
}

func TestPortsListTheSimulatedGauges(t *testing.T) {
	ports, err := gauge.Ports()
	require.NoError(t, err)
	found := map[string]string{}
	for _, p := range ports {
		_, err := gauge.ParseAddress(p.Address().String())
		assert.NoError(t, err)
		if p.Scenario != "" {
			found[p.Address().String()] = p.Description
		}
	}
	for _, s := range sim.Names() {
		assert.Equal(t, s.Description, found["sim:"+s.Name])
	}
}
