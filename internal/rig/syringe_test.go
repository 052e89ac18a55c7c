package rig_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"boretight/internal/rig"
)

// tightStep is a step of 1 ml on a tight 40 ml: from rest to −2471 Pa (Boyle, by hand:
// 101325·40/41 − 101325).
func tightStep() rig.SyringeStep {
	return rig.SyringeStep{
		Step:    rig.Measured{Value: 1e-6, U: 0.01e-6},
		Before:  rig.Side{Pressure: rig.Measured{Value: 0, U: 0.2}, Rate: rig.Measured{U: 0.05}, Wait: 1},
		After:   rig.Side{Pressure: rig.Measured{Value: -101325.0 / 41, U: 0.3}, Rate: rig.Measured{U: 0.05}, Wait: 1},
		Ambient: rig.Measured{Value: 101325, U: 50}, SpanU: 0.005,
		Bore: rig.Measured{Value: 9e-3, U: 1e-3}, Temperature: 295,
	}
}

func TestOneMillilitreOnForty(t *testing.T) {
	v, err := tightStep().Volume()
	require.NoError(t, err)
	assert.InEpsilon(t, 40e-6, v.Value, 1e-9)
	assert.Equal(t, rig.BySyringe, v.Method)
	assert.True(t, v.RigIncluded)
	assert.Empty(t, v.Doubts)
	u := map[string]float64{}
	for _, line := range v.Budget {
		u[line.Source] = line.URelative
	}
	assert.InEpsilon(t, 0.01, u["syringe"], 1e-3)
	assert.InEpsilon(t, 0.005*41/40, u["span of the gauge"], 1e-2, "the step counts in proportion")
	assert.InEpsilon(t, 50/(101325.0*40/41), u["ambient pressure"], 1e-3, "one to one with p2")
}

func TestSyringeThatStaysOpenBelongsToTheHold(t *testing.T) {
	s := tightStep()
	s.StaysOpen = true
	v, err := s.Volume()
	require.NoError(t, err)
	assert.InEpsilon(t, 41e-6, v.Value, 1e-9)

	s = tightStep()
	s.Dead = rig.Measured{Value: 0.5e-6, U: 0.1e-6}
	v, err = s.Volume()
	require.NoError(t, err)
	assert.InEpsilon(t, 39.5e-6, v.Value, 1e-9, "nozzle and barrel are shut off in holds")

	s.StaysOpen = true
	_, err = s.Volume()
	require.ErrorContains(t, err, "stays open", "not both")
}

// A doubt of 0.1 s about the instant is worth what the leak's change moves in it.
func TestInstantOfTheStepCounts(t *testing.T) {
	s := tightStep()
	s.Before.Pressure.Value, s.Before.Rate.Value = -600, 20
	s.After.Pressure.Value, s.After.Rate.Value = -3000, 100
	s.InstantU = 0.1
	v, err := s.Volume()
	require.NoError(t, err)
	assert.InEpsilon(t, 0.1*(100-20)/2400*v.Value, line(v.Result, "instant of the step"), 0.03)
}

// A push (pressure) and a draw (suction) give the volume with the plunger home: what the
// barrel held before a push is in no hold.
func TestBothSignsGiveOneVolume(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		volume := rapid.Float64Range(20e-6, 300e-6).Draw(t, "volume")
		step := volume * rapid.Float64Range(0.01, 0.05).Draw(t, "share")
		start := rapid.Float64Range(-1000, 1000).Draw(t, "start")
		for _, sign := range []float64{-1, 1} {
			s := tightStep()
			s.Step = rig.Measured{Value: sign * step, U: step * 0.01}
			s.Before.Pressure.Value = start
			before := volume + max(0, -sign)*step
			s.After.Pressure.Value = (101325+start)*before/(before+sign*step) - 101325
			v, err := s.Volume()
			require.NoError(t, err)
			assert.InEpsilon(t, volume, v.Value, 1e-6)
		}
	})
}

func TestMonteCarloAgreesWithTheVolumesBudget(t *testing.T) {
	s := tightStep()
	s.Before = rig.Side{Pressure: rig.Measured{Value: -600, U: 2}, Rate: rig.Measured{Value: 25, U: 3}, Dof: 200, Wait: 1}
	s.After = rig.Side{Pressure: rig.Measured{Value: -3050, U: 5}, Rate: rig.Measured{Value: 120, U: 4}, Dof: 200, Wait: 1}
	v, err := s.Volume()
	require.NoError(t, err)
	model, inputs := s.MonteCarloInputs()
	mean, u := monteCarlo(model, inputs)
	assert.InDelta(t, v.Value, mean, 0.05*v.U)
	assert.InEpsilon(t, v.U, u, 0.03)
}

func TestSyringeStepIsRefused(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*rig.SyringeStep)
		found string
	}{
		"when it is too small to see": {func(s *rig.SyringeStep) { s.After.Pressure = rig.Measured{Value: -4, U: 1} }, "too small to see"},
		"when nothing changed":        {func(s *rig.SyringeStep) { s.After = s.Before }, "too small to see"},
		"when the pressure went the other way": {
			func(s *rig.SyringeStep) { s.Step.Value = -1e-6 }, "the other way"},
		"when the seal was lost": {func(s *rig.SyringeStep) {
			s.Before.Pressure.Value, s.After.Pressure.Value, s.After.Rate.Value = -600, -2900, 700
		}, "the seal was lost"},
		"when from rest the joint leaks too fast": {func(s *rig.SyringeStep) { s.After.Rate.Value = 900 }, "the seal was lost"},
		"when its size is not told":               {func(s *rig.SyringeStep) { s.Step = rig.Measured{} }, "not told"},
		"when its size is hardly known":           {func(s *rig.SyringeStep) { s.Step.U = 0.3e-6 }, "30 % only"},
		"when the volume would be negative":       {func(s *rig.SyringeStep) { s.Dead = rig.Measured{Value: 60e-6} }, "comes out at"},
		"in a room without air":                   {func(s *rig.SyringeStep) { s.Ambient.Value = 0 }, "a room at"},
		"in a room of 22 K":                       {func(s *rig.SyringeStep) { s.Temperature = 22 }, "a room at"},
		"when a pressure is no number":            {func(s *rig.SyringeStep) { s.After.Pressure.Value = math.NaN() }, "not a number"},
	} {
		t.Run(name, func(t *testing.T) {
			s := tightStep()
			c.spoil(&s)
			_, err := s.Volume()
			var refusal *rig.Refusal
			require.ErrorAs(t, err, &refusal)
			assert.ErrorContains(t, err, c.found)
		})
	}
}

func TestSyringeStepIsDoubted(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*rig.SyringeStep)
		says  string
	}{
		"when something gives way a little": {func(s *rig.SyringeStep) {
			s.Before.Pressure.Value, s.After.Pressure.Value, s.After.Rate.Value = -600, -2900, 60
		}, "pads creep"},
		"when the pressure runs away from ambient": {func(s *rig.SyringeStep) { s.After.Rate.Value = -60 }, "moved away"},
		"when heat had no time to settle":          {func(s *rig.SyringeStep) { s.Bore.Value, s.After.Wait = 20e-3, 2 }, "heat needs 3.2 s"},
		"when the volume is poorly known":          {func(s *rig.SyringeStep) { s.Step.U = 0.08e-6 }, "8 % only, most of it for syringe"},
	} {
		t.Run(name, func(t *testing.T) {
			s := tightStep()
			c.spoil(&s)
			v, err := s.Volume()
			require.NoError(t, err)
			require.NotEmpty(t, v.Doubts)
			assert.Contains(t, v.Doubts[0], c.says)
		})
	}
}

func TestLeakInProportionIsNoLostSeal(t *testing.T) {
	s := tightStep()
	s.Before.Pressure.Value, s.Before.Rate.Value = -600, 20
	s.After.Pressure.Value, s.After.Rate.Value = -3000, 100
	v, err := s.Volume()
	require.NoError(t, err)
	assert.Empty(t, v.Doubts)

	// Pushed back towards ambient a hole's leak falls less than in proportion.
	s.Step.Value = -1e-6
	s.Before, s.After = s.After, s.Before
	s.After.Rate.Value, s.After.Wait = 40, 3
	v, err = s.Volume()
	require.NoError(t, err)
	assert.Empty(t, v.Doubts)
}

func TestHeatIsTrustedLessInWideBores(t *testing.T) {
	heat := func(bore float64) float64 {
		s := tightStep()
		s.Before.Pressure.Value, s.Before.Rate.Value = -600, 20
		s.After = rig.Side{Pressure: rig.Measured{Value: -3000, U: 1}, Rate: rig.Measured{Value: 100, U: 1}, Wait: 6}
		s.Bore = rig.Measured{Value: bore}
		v, err := s.Volume()
		require.NoError(t, err)
		return line(v.Result, "heat")
	}
	assert.InEpsilon(t, 26.0*26/22/22*0.40/0.15, heat(26e-3)/heat(22e-3), 0.02)
	assert.Greater(t, heat(0), heat(14e-3), "a bore that was not told is any")
}
