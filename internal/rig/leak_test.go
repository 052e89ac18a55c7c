package rig_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"boretight/internal/air"
	"boretight/internal/rig"
)

// needle is a capillary of 0.159 mm by 25 mm in air of 20 °C under a suction of 1 kPa:
// 3.474898e-3 Pa·m³/s, computed apart from this program (isothermal Poiseuille).
func needle() rig.Certificate {
	return rig.Certificate{
		ID:         "needle",
		Throughput: rig.Measured{Value: 3.474898e-3, U: 3.5e-5},
		At:         rig.Conditions{Sign: air.Suction, Difference: 1000, Ambient: 101325, Temperature: 293.15},
	}
}

func room(difference float64) rig.Room {
	return rig.Room{Sign: air.Suction, Difference: difference, Ambient: rig.Measured{Value: 101325, U: 100}, Temperature: rig.Measured{Value: 293.15, U: 0.5}}
}

// The same needle at 10 and at 20 inH2O, computed apart from this program.
func TestNeedleAtOtherDifferences(t *testing.T) {
	for difference, want := range map[float64]float64{1000: 3.474898e-3, 2490.8891: 8.591591e-3, 4981.7782: 1.696935e-2} {
		q, err := needle().Here(room(difference))
		require.NoError(t, err)
		assert.InEpsilon(t, want, q.Value, 1e-6, "%g Pa", difference)
		assert.Equal(t, difference > 1500, len(q.Doubts) > 0)
	}
}

func TestLaminarLeakFollowsPressureAndWarmth(t *testing.T) {
	here := room(1000)
	here.Ambient.Value, here.Temperature.Value = 90000, 303.15
	q, err := needle().Here(here)
	require.NoError(t, err)
	want := 3.474898e-3 * 89500 / 100825 * air.Viscosity(293.15) / air.Viscosity(303.15)
	assert.InEpsilon(t, want, q.Value, 1e-9)

	here.Sign = air.Pressure
	pressed, err := needle().Here(here)
	require.NoError(t, err)
	assert.InEpsilon(t, 90500.0/89500, pressed.Value/q.Value, 1e-9, "the same hole reads more under pressure")
	assert.Contains(t, pressed.Doubts[0], "certified for suction")
}

// A pure hole: q ∝ √(p̄·Δp·T), as inertia alone has it.
func TestHoleFollowsTheSquareRoot(t *testing.T) {
	c := needle()
	c.Inertial.Value = 1
	here := room(2000)
	here.Temperature.Value = 303.15
	q, err := c.Here(here)
	require.NoError(t, err)
	assert.InEpsilon(t, 3.474898e-3*math.Sqrt(2*100325/100825.0*303.15/293.15), q.Value, 1e-9)
}

func TestCertificateIsRefused(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*rig.Certificate, *rig.Room)
		found string
	}{
		"with no throughput":            {func(c *rig.Certificate, _ *rig.Room) { c.Throughput.Value = 0 }, "certified throughput"},
		"without a sign":                {func(c *rig.Certificate, _ *rig.Room) { c.At.Sign = 0 }, "neither suction nor pressure"},
		"with a difference below zero":  {func(_ *rig.Certificate, r *rig.Room) { r.Difference = -2500 }, "pressure difference"},
		"in a room without air":         {func(_ *rig.Certificate, r *rig.Room) { r.Ambient.Value = 0 }, "a room at"},
		"in degrees Celsius":            {func(_ *rig.Certificate, r *rig.Room) { r.Temperature.Value = 20 }, "air at"},
		"with an inertial share of two": {func(c *rig.Certificate, _ *rig.Room) { c.Inertial.Value = 2 }, "inertial share"},
	} {
		t.Run(name, func(t *testing.T) {
			certificate, r := needle(), room(1000)
			c.spoil(&certificate, &r)
			_, err := certificate.Here(r)
			var refusal *rig.Refusal
			require.ErrorAs(t, err, &refusal)
			assert.ErrorContains(t, err, c.found)
		})
	}
}

// addedNeedle is the needle on a joint of 50 ml that leaks half as much itself.
func addedNeedle(volume, dead float64) rig.AddedLeak {
	const q = 3.474898e-3
	own := q / 2
	return rig.AddedLeak{
		Leak: needle(), Room: room(1000),
		Without: rig.Rate{Value: own / volume, Own: 0.05, Span: 0.01},
		With:    rig.Rate{Value: (own + q) / (volume + dead), Own: 0.1, Span: 0.01},
		Dead:    rig.Measured{Value: dead, U: 0.1 * dead},
	}
}

func TestAddedLeakTellsTheVolume(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		volume := rapid.Float64Range(20e-6, 300e-6).Draw(t, "volume")
		dead := rapid.Float64Range(0, 2e-6).Draw(t, "dead")
		v, err := addedNeedle(volume, dead).Volume()
		require.NoError(t, err)
		assert.InEpsilon(t, volume, v.Value, 1e-9, "the leak's own dead volume is not in it")
		assert.True(t, v.RigIncluded)
		assert.Greater(t, v.Relative(), math.Hypot(0.01, 0.01), "never better than span and certificate")
	})
}

func TestMonteCarloAgreesWithTheAddedLeaksBudget(t *testing.T) {
	a := addedNeedle(50e-6, 1e-6)
	v, err := a.Volume()
	require.NoError(t, err)
	model, inputs, err := a.MonteCarloInputs()
	require.NoError(t, err)
	mean, u := monteCarlo(model, inputs)
	assert.InDelta(t, v.Value, mean, 0.05*v.U)
	assert.InEpsilon(t, v.U, u, 0.03)
}

func TestAddedLeakIsRefused(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*rig.AddedLeak)
		found string
	}{
		"when it cannot be seen":            {func(a *rig.AddedLeak) { a.With.Own = 50 }, "cannot be seen"},
		"when the rate fell":                {func(a *rig.AddedLeak) { a.With.Value = 10 }, "cannot be seen"},
		"when its dead volume takes it all": {func(a *rig.AddedLeak) { a.Dead.Value = 1e-4 }, "comes out at"},
		"when a rate is not a number":       {func(a *rig.AddedLeak) { a.With.Value = math.NaN() }, "not a number"},
		"when its certificate is empty":     {func(a *rig.AddedLeak) { a.Leak = rig.Certificate{} }, "scale reference leak"},
		"when hardly anything is known":     {func(a *rig.AddedLeak) { a.With.Span = 0.2 }, "% only"},
	} {
		t.Run(name, func(t *testing.T) {
			a := addedNeedle(50e-6, 1e-6)
			c.spoil(&a)
			_, err := a.Volume()
			require.ErrorContains(t, err, c.found)
		})
	}
}

func TestJointThatLeaksFarMoreThanTheReferenceIsDoubted(t *testing.T) {
	a := addedNeedle(50e-6, 0)
	a.Without.Value += 400
	a.With.Value += 400
	v, err := a.Volume()
	require.NoError(t, err)
	assert.Contains(t, v.Doubts[0], "three times")
}

func TestBoreOfATemplateIsHonestlyWide(t *testing.T) {
	v, err := rig.BoreVolume(air.Taper{Length: 0.25, From: 12e-3, To: 14e-3}, air.Taper{Length: 0.1, From: 14e-3, To: 14e-3})
	require.NoError(t, err)
	assert.InEpsilon(t, math.Pi/4*(0.25*(144+168+196)/3+0.1*196)*1e-6, v.Value, 1e-9)
	assert.InEpsilon(t, 0.0866, v.Relative(), 1e-3, "±15 % as a rectangle")
	assert.False(t, v.RigIncluded)
	assert.NotEmpty(t, v.Doubts)

	_, err = rig.BoreVolume()
	require.ErrorContains(t, err, "no bore")
	_, err = rig.BoreVolume(air.Taper{Length: 0.2, From: 12e-3})
	require.ErrorContains(t, err, "no diameter")
}

func TestHoseIsCountedOnce(t *testing.T) {
	hose := rig.Measured{Value: 6e-6, U: 0.2e-6}
	bore, err := rig.BoreVolume(air.Taper{Length: 0.25, From: 14e-3, To: 14e-3})
	require.NoError(t, err)
	all := bore.WithRig(hose)
	assert.InEpsilon(t, bore.Value+6e-6, all.Value, 1e-12)
	assert.InEpsilon(t, math.Hypot(bore.U, 0.2e-6), all.U, 1e-12)
	assert.Equal(t, all, all.WithRig(hose), "twice is once")

	joint, err := all.WithoutRig(hose)
	require.NoError(t, err)
	assert.InEpsilon(t, bore.Value, joint.Value, 1e-12)
	again, err := joint.WithoutRig(hose)
	require.NoError(t, err)
	assert.Equal(t, joint, again)

	_, err = all.WithoutRig(rig.Measured{Value: 1})
	require.ErrorContains(t, err, "the rig alone holds")
}

func TestDegreesOfFreedomSurviveTheRig(t *testing.T) {
	s := tightStep()
	s.After.Pressure.U, s.After.Dof = 30, 5
	v, err := s.Volume()
	require.NoError(t, err)
	with := v.WithRig(rig.Measured{})
	assert.Equal(t, v, with, "it is in it")
	without, err := v.WithoutRig(rig.Measured{Value: 1e-6})
	require.NoError(t, err)
	assert.InEpsilon(t, v.Dof, without.Dof, 1e-9)
}
