package rig_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/rig"
)

func TestCarryKeepsItsPromise(t *testing.T) {
	// Leaks of any law from −2000 Pa with white noise of 2 Pa, 4 s at 50 a second, carried 1.5 s.
	const trials, truth, tau = 400, -2000.0, 20.0
	random := rand.New(rand.NewPCG(7, 7))
	held := 0
	for range trials {
		var samples []rig.Sample
		power := 0.65 + 0.349*random.Float64()
		for i := range 200 {
			now := 1.5 + float64(i)/50
			samples = append(samples, rig.Sample{Seconds: 100 + now, Pressure: truth*math.Pow(1-(1-power)*now/tau, 1/(1-power)) + 2*random.NormFloat64()})
		}
		side, err := rig.Carry(samples, 100)
		require.NoError(t, err)
		if math.Abs(side.Pressure.Value-truth) < 1.96*side.Pressure.U {
			held++
		}
		assert.InDelta(t, 100, side.Rate.Value, 5)
		assert.InDelta(t, 1.5, side.Wait, 1e-9)
	}
	assert.Greater(t, held, 368, "95 %% less four standard deviations")
}

func TestCarryIsWiderWhereNoiseRemembers(t *testing.T) {
	const trials, rho = 400, 0.7
	random := rand.New(rand.NewPCG(8, 8))
	held := 0
	for range trials {
		var samples []rig.Sample
		noise := 0.0
		for i := range 300 {
			noise = rho*noise + random.NormFloat64()
			samples = append(samples, rig.Sample{Seconds: 1 + float64(i)/50, Pressure: noise - 1000})
		}
		side, err := rig.Carry(samples, 0)
		require.NoError(t, err)
		if math.Abs(side.Pressure.Value+1000) < 1.96*side.Pressure.U {
			held++
		}
	}
	assert.Greater(t, held, 360, "90 %% at least; 60 %% would be held if each reading were new")
}

func TestCarryRefusesTooLittle(t *testing.T) {
	samples := func(n int, from, step float64) (all []rig.Sample) {
		for i := range n {
			all = append(all, rig.Sample{Seconds: from + float64(i)*step, Pressure: -100})
		}
		return all
	}
	_, err := rig.Carry(samples(9, 1, 1), 0)
	require.ErrorContains(t, err, "9 readings")
	_, err = rig.Carry(samples(20, 1, 0.01), 0)
	require.ErrorContains(t, err, "s of readings")
	_, err = rig.Carry(samples(20, -1, 0.1), 0)
	require.ErrorContains(t, err, "both sides")
	all := samples(20, 1, 0.1)
	all[3].Pressure = math.Inf(1)
	_, err = rig.Carry(all, 0)
	require.ErrorContains(t, err, "not a number")
}
