package rig_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/air"
	"boretight/internal/rig"
)

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
