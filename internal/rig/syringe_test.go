package rig_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"boretight/internal/air"
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

// A push (pressure) and a draw (suction) on one joint give one volume.
func TestBothSignsGiveOneVolume(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		volume := rapid.Float64Range(20e-6, 300e-6).Draw(t, "volume")
		step := volume * rapid.Float64Range(0.01, 0.05).Draw(t, "share")
		start := rapid.Float64Range(-1000, 1000).Draw(t, "start")
		for _, sign := range []float64{-1, 1} {
			s := tightStep()
			s.Step = rig.Measured{Value: sign * step, U: step * 0.01}
			s.Before.Pressure.Value = start
			s.After.Pressure.Value = (101325+start)*volume/(volume+sign*step) - 101325
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

// A leaking joint with its heat, ring by ring: what the leak lets in and the step itself
// change what the pressure would be at room temperature; each mode of warmth follows
// with its own time. The volume must come out within 0.5 % and its own interval (most of
// which is for the law, which is not told); without the lag of the heat it would be wrong
// by more than twice as much.
func TestVolumeOfALeakingJointWithItsHeat(t *testing.T) {
	for name, c := range map[string]joint{
		"narrow bore, time constant 20 s": {bore: 9e-3, rate: 0.05, lasts: 0.01},
		"narrow bore, time constant 8 s":  {bore: 9e-3, rate: 0.12, lasts: 0.01},
		"wider bore, time constant 20 s":  {bore: 16e-3, rate: 0.05, lasts: 0.01},
		"a step that takes 0.8 s":         {bore: 12e-3, rate: 0.05, lasts: 0.8},
	} {
		t.Run(name, func(t *testing.T) {
			bore := rig.Measured{Value: c.bore}
			found, err := rig.FindStep(c.hold(0), rig.SettleTime(bore, ambient, temperature))
			require.NoError(t, err)
			assert.InDelta(t, stepAt+c.lasts/2, found.Instant, 0.02+c.lasts/8)
			s := rig.SyringeStep{
				Step: rig.Measured{Value: step}, Ambient: rig.Measured{Value: ambient}, Bore: bore, Temperature: temperature,
				Before: found.Before, After: found.After, InstantU: found.InstantU,
			}
			v, err := s.Volume()
			require.NoError(t, err)
			assert.InEpsilon(t, volume, v.Value, 5e-3)
			assert.InDelta(t, volume, v.Value, 2*v.U, "and the budget knows")

			naive := step * (ambient + s.After.Pressure.Value) / (s.Before.Pressure.Value - s.After.Pressure.Value)
			assert.Greater(t, math.Abs(naive/volume-1), 2*math.Abs(v.Value/volume-1), "the lag matters")
		})
	}
}

func TestStepIsFoundInNoise(t *testing.T) {
	bore := rig.Measured{Value: 12e-3, U: 1e-3}
	found, err := rig.FindStep(joint{bore: 12e-3, rate: 0.02, lasts: 0.4}.hold(3), rig.SettleTime(bore, ambient, temperature))
	require.NoError(t, err)
	assert.InDelta(t, stepAt+0.2, found.Instant, 0.1)
	assert.InEpsilon(t, 0.8*0.4/6/math.Sqrt(3), found.InstantU, 0.3, "the overshoot of the warmth shortens it a little")
	v, err := rig.SyringeStep{
		Step: rig.Measured{Value: step}, Ambient: rig.Measured{Value: ambient}, Bore: bore, Temperature: temperature,
		Before: found.Before, After: found.After, InstantU: found.InstantU,
	}.Volume()
	require.NoError(t, err)
	assert.InDelta(t, volume, v.Value, 3*v.U)
	assert.Less(t, v.Relative(), 0.01)
}

func TestRecordWithoutRoomForAStepIsRefused(t *testing.T) {
	all := joint{bore: 12e-3, rate: 0.02, lasts: 0.1}.hold(0)
	_, err := rig.FindStep(all[:20], 1)
	require.ErrorContains(t, err, "too short a record")
	_, err = rig.FindStep(all[:len(all)*2/3], 3)
	require.ErrorContains(t, err, "after the step")
	all[0], all[5] = all[5], all[0]
	_, err = rig.FindStep(all, 1)
	require.ErrorContains(t, err, "out of order")
}

// What all simulated joints share, in SI units; the step begins at stepAt.
const ambient, temperature, volume, step, stepAt = 101325.0, 295.0, 60e-6, 1.2e-6, 5.0

// joint is a simulated one: heat diameter in m, share of Δp that its laminar leak takes
// each second, and how long the step lasts in s.
type joint struct{ bore, rate, lasts float64 }

// hold is a record from −800 Pa on, heat settled at its start, the syringe stepped at
// stepAt, with white noise of so many pascals, at 100 a second. It integrates in 0.5 ms.
func (j joint) hold(noise float64) (samples []rig.Sample) {
	const dt = 5e-4
	random := rand.New(rand.NewPCG(9, 9))
	modes := air.ClosedModes(6)
	slow := j.bore * j.bore / 4 / air.ThermalDiffusivity(temperature, ambient)
	settle := 5 * slow / 7.18
	warmth := make([]float64, len(modes)) // Pa
	cold := ambient - 800                 // what the pressure would be at room temperature
	enclosed := volume
	change := func(by float64) {
		cold += by
		for i, m := range modes {
			warmth[i] += m.Weight * (air.Gamma - 1) * by
		}
	}
	for i := range int((stepAt + j.lasts + settle + 3) / dt) {
		now := float64(i) * dt
		drawn := step * min(max((now-stepAt)/j.lasts, 0), 1)
		change(cold*enclosed/(volume+drawn) - cold)
		enclosed = volume + drawn
		pressure := cold
		for k, m := range modes {
			pressure += warmth[k]
			warmth[k] *= math.Exp(-dt * m.Lambda * m.Lambda / slow)
		}
		change(j.rate * volume / enclosed * (ambient - pressure) * dt)
		if i%20 == 0 && now > settle {
			samples = append(samples, rig.Sample{Seconds: now, Pressure: pressure - ambient + noise*random.NormFloat64()})
		}
	}
	return samples
}

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
