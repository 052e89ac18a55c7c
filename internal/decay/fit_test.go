package decay_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"boretight/internal/decay"
	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/trace"
)

// room is the air of the scenes below.
var room = sim.Air{Ambient: 98.3e3, Temperature: 295.65}

// scene is a clarinet-sized joint of 40 cm³ and 14 mm bore with one seat of the given
// time constant in s and inertial share, held for 12 s under suction.
func scene(t *testing.T, tau, share float64) sim.Scenario {
	t.Helper()
	const volume = 40e-6
	s := sim.Scenario{
		Air: room, Joint: sim.Joint{Segments: []sim.Segment{sim.Tube(7e-3, volume)}},
		Holds: []sim.Hold{{
			Rest: 2, Sign: sim.Suction, Seconds: 12, After: 2, Vent: sim.Vent{Tau: 0.04},
			Draw: sim.Draw{Kind: sim.Smooth, To: 3000, Seconds: 1},
		}},
		Sensor: sim.Sensor{Zero: 13, Noise: 1, Step: 0.5, Lag: 6e-3},
		Seed:   5,
	}
	if !math.IsInf(tau, 1) {
		leak, err := sim.NewLeak(2500*volume/tau, share, 2500, sim.Suction, room)
		require.NoError(t, err)
		s.Leaks = []sim.Leak{leak}
	}
	return s
}

// found simulates a scene and returns its hold as the finder cuts it, with its truth.
func found(t testing.TB, s sim.Scenario) (*hold.Hold, sim.Truth) {
	t.Helper()
	tr, truths, err := s.Run()
	require.NoError(t, err)
	holds := hold.Find(tr)
	require.Len(t, holds, 1)
	return holds[0], truths[0]
}

// told is what a careful repairer tells of a simulated joint, volume good to 1 %.
func told(t sim.Truth) decay.Setup {
	return decay.Setup{
		Volume: decay.Input{Value: t.Volume, U: 0.01 * t.Volume}, Bore: decay.Input{Value: 2 * t.Bore},
		Ambient: decay.Input{Value: t.Ambient, U: 100}, Temperature: decay.Input{Value: t.Temperature, U: 0.5},
		At: t.StatedPa,
	}
}

// contribution is the budget's line of a source, zero when there is none.
func contribution(r decay.Result, source string) decay.Contribution {
	i := slices.IndexFunc(r.Budget, func(c decay.Contribution) bool { return c.Source == source })
	if i < 0 {
		return decay.Contribution{}
	}
	return r.Budget[i]
}

func noted(r decay.Result, part string) bool {
	return slices.ContainsFunc(slices.Concat(r.Notes, r.Assumed), func(n string) bool { return strings.Contains(n, part) })
}

// A 95 % interval that is honest holds the truth in 95 of 100. Of 12 holds it holds 8
// or fewer with probability 0.0022, and of 60 it holds 51 or fewer with 0.003: so
// fewer than 9 in a family or 52 in all would speak against it.
func TestFitHoldsTheTruthOfSimulatedHolds(t *testing.T) {
	const each = 12
	all := 0
	families := []string{"small-laminar", "wide", "fast", "mixed-law", "pressure"}
	for _, name := range families {
		f, err := sim.FamilyNamed(name)
		require.NoError(t, err)
		inside := 0
		for i := range uint64(each) {
			random := rand.New(rand.NewPCG(11, i))
			tr, truths, err := f.Draw(random).Run()
			require.NoError(t, err)
			holds := hold.Find(tr)
			require.NotEmpty(t, holds, "%s %d", name, i)
			s := told(truths[0])
			s.Volume.Value *= 1 + 0.01*random.NormFloat64()
			r := decay.Fit(holds[0], s)
			require.NotNil(t, r.LeakRate, "%s %d: %v", name, i, r.Notes)
			if q := truths[0].LeakRate; r.LeakRate.Low <= q && q <= r.LeakRate.High {
				inside++
			}
		}
		t.Logf("%s: %d of %d inside", name, inside, each)
		assert.GreaterOrEqual(t, inside, 9, name)
		all += inside
	}
	assert.GreaterOrEqual(t, all, 52, "of %d in all", each*len(families))
}

func TestFitOfAPlainLeak(t *testing.T) {
	h, truth := found(t, scene(t, 12, 0.1))
	r := decay.Fit(h, told(truth))
	require.NotNil(t, r.LeakRate, r.Notes)
	q := *r.LeakRate

	t.Run("is right to its interval and better than 5 %", func(t *testing.T) {
		assert.Equal(t, decay.Converged, r.Status)
		assert.InEpsilon(t, truth.LeakRate, q.Value, 0.05)
		assert.True(t, q.Low < truth.LeakRate && truth.LeakRate < q.High, "%+v", q)
		assert.Less(t, q.Relative(), 0.05)
		assert.False(t, r.Disturbed)
		assert.InDelta(t, truth.DeltaIsolated, r.DeltaStart, 20)
		assert.InDelta(t, truth.DeltaVented, r.DeltaEnd, 20)
		assert.InDelta(t, 13, r.Zero.Value, 1)
		assert.Equal(t, decay.Method, r.Method)
	})
	t.Run("has an interval of value ± t·u", func(t *testing.T) {
		k := distuv.StudentsT{Sigma: 1, Nu: min(r.Dof, 1e9)}.Quantile(0.975)
		assert.InEpsilon(t, q.Value+k*q.U, q.High, 1e-4)
		assert.InEpsilon(t, q.Value-k*q.U, q.Low, 1e-4)
	})
	t.Run("has a budget that adds up in squares, the largest line first", func(t *testing.T) {
		var sum float64
		for i, c := range r.Budget {
			sum += c.U * c.U
			assert.InDelta(t, c.U/q.Value, c.URelative, 1e-9, c.Source)
			if i > 0 {
				assert.LessOrEqual(t, c.U, r.Budget[i-1].U)
			}
		}
		assert.InEpsilon(t, q.U, math.Sqrt(sum), 1e-9)
		assert.InEpsilon(t, 0.01, contribution(r, "volume").URelative, 1e-6)
	})
	t.Run("agrees with itself in all its units", func(t *testing.T) {
		v := truth.Volume
		assert.InEpsilon(t, r.PressureRate.Value*v, q.Value, 1e-12)
		assert.InEpsilon(t, 2500/r.PressureRate.Value, r.TimeConstant.Value, 1e-12)
		// 1 cm³/min at 0 °C and one atmosphere is 1.68875 mPa·m³/s at 0 °C.
		assert.InEpsilon(t, q.Value/(1.68875e-3*295.65/273.15), r.SCCM.Value, 1e-6)
	})
	t.Run("comes out the same again, and leaves the hold alone", func(t *testing.T) {
		before := *h
		before.Readings = slices.Clone(h.Readings)
		again := decay.Fit(h, told(truth))
		assert.Equal(t, r, again)
		for i, reading := range before.Readings { // NaN temperatures are not equal to themselves
			got := h.Readings[i]
			assert.True(t, reading.T == got.T && reading.Pressure == got.Pressure && reading.Status == got.Status, "reading %d", i)
		}
		held := *h
		held.Readings, before.Readings = nil, nil
		assert.Equal(t, before, held)
	})
	t.Run("has a curve that follows the readings", func(t *testing.T) {
		require.NotEmpty(t, r.Curve)
		for _, p := range r.Curve {
			i, _ := slices.BinarySearchFunc(h.Readings, p.T, func(x trace.Reading, at float64) int {
				if x.Seconds() < at {
					return -1
				}
				return 1
			})
			if i >= h.Held.From && i < h.Held.To {
				assert.InDelta(t, h.Readings[i].Pressure, p.Pressure, 8, "at %g s", p.T)
			}
		}
	})
}

// Few and noisy readings leave the noise itself in doubt, and Student's factor grows.
func TestFitWidensItsIntervalWhenReadingsAreFew(t *testing.T) {
	s := scene(t, 12, 0)
	s.Sensor = sim.Sensor{Rate: 10, Noise: 25}
	s.Holds[0].Seconds = 3
	h, truth := found(t, s)
	r := decay.Fit(h, told(truth))
	require.NotNil(t, r.LeakRate, r.Notes)
	require.Less(t, r.Dof, 500.0)
	k := distuv.StudentsT{Sigma: 1, Nu: r.Dof}.Quantile(0.975)
	require.Greater(t, k, 1.963)
	assert.InEpsilon(t, k*r.LeakRate.U, r.LeakRate.High-r.LeakRate.Value, 1e-6)
	assert.InEpsilon(t, k*r.LeakRate.U, r.LeakRate.Value-r.LeakRate.Low, 1e-6)
}

func TestFitScalesWithTheToldVolume(t *testing.T) {
	h, truth := found(t, scene(t, 12, 0.1))
	s := told(truth)
	// Hose and stoppers are taken for a fifth of such small volumes, whichever.
	s.Volume = decay.Input{Value: 5e-6, U: 0.1e-6}
	one := decay.Fit(h, s)
	s.Volume = decay.Input{Value: 10e-6, U: 0.2e-6}
	two := decay.Fit(h, s)
	// Not to the last digit: how likely a leak is to be a hole goes with its size.
	assert.InEpsilon(t, 2*one.LeakRate.Value, two.LeakRate.Value, 1e-5)
	assert.InEpsilon(t, 2*one.LeakRate.U, two.LeakRate.U, 1e-4)
	assert.InEpsilon(t, one.PressureRate.Value, two.PressureRate.Value, 1e-5)
	assert.InEpsilon(t, one.PressureRate.U, two.PressureRate.U, 1e-4)

	// From there on the told volume also says how much of it may be hose.
	s.Volume.Value = 40e-6
	small := decay.Fit(h, s)
	s.Volume.Value = 80e-6
	large := decay.Fit(h, s)
	assert.InDelta(t, small.PressureRate.Value, large.PressureRate.Value, 0.5*small.PressureRate.U)
}

func TestFitWithoutAVolume(t *testing.T) {
	h, truth := found(t, scene(t, 12, 0.1))
	s := told(truth)
	s.Volume = decay.Input{}
	r := decay.Fit(h, s)
	assert.Equal(t, decay.Converged, r.Status)
	assert.Nil(t, r.LeakRate)
	assert.Nil(t, r.SCCM)
	require.NotNil(t, r.PressureRate)
	require.NotNil(t, r.TimeConstant)
	want := truth.LeakRate / truth.Volume
	assert.True(t, r.PressureRate.Low < want && want < r.PressureRate.High, "%+v of %g Pa/s", *r.PressureRate, want)
	assert.True(t, noted(r, "No volume was told"), r.Notes)
	assert.Zero(t, contribution(r, "volume"))
	assert.InDelta(t, contribution(r, "noise").U/r.PressureRate.Value, contribution(r, "noise").URelative, 1e-12, "relative to the pressure rate")
}

// A wrong span scales Δ and its fall alike: a laminar leak (dq/dΔ = q/Δ) does not
// see it, a hole (half of that) sees half.
func TestFitBudgetsTheSpanByTheLaw(t *testing.T) {
	h, truth := found(t, scene(t, 8, 0))
	s := told(truth)
	s.SpanU = 0.02
	laminar := decay.Fit(h, s)
	require.NotNil(t, laminar.LeakRate, laminar.Notes)
	assert.Less(t, contribution(laminar, "span").URelative, 0.003, "share %g", laminar.InertialShare.Value)
	s.SpanU = 0
	assert.Zero(t, contribution(decay.Fit(h, s), "span"), "a perfect gauge")

	h, truth = found(t, scene(t, 8, 1))
	s = told(truth)
	s.SpanU = -1
	hole := decay.Fit(h, s)
	require.NotNil(t, hole.LeakRate, hole.Notes)
	assert.InDelta(t, 0.01, contribution(hole, "span").URelative, 0.002, "share %g", hole.InertialShare.Value)
	assert.True(t, noted(hole, "No calibration"), "the default is told: %v", hole.Notes)
}

func TestFitIsTrueToTheSpanOfItsGauge(t *testing.T) {
	for share, exponent := range map[float64]float64{0: 0, 1: 0.5} {
		right, truth := found(t, scene(t, 8, share))
		s := scene(t, 8, share)
		s.Sensor.Span = 0.02
		wrong, _ := found(t, s)
		a, b := decay.Fit(right, told(truth)), decay.Fit(wrong, told(truth))
		assert.InDelta(t, 0.02*exponent, b.LeakRate.Value/a.LeakRate.Value-1, 0.004, "share %g", share)
	}
}

func TestFitNotesWhatItAssumes(t *testing.T) {
	s := scene(t, 12, 0.1)
	h, truth := found(t, s)
	r := decay.Fit(h, decay.Setup{Volume: told(truth).Volume, SpanU: -1})
	for _, part := range []string{"No bore was told", "No ambient pressure", "No temperature", "No calibration"} {
		assert.True(t, noted(r, part), "%s: %v", part, r.Notes)
	}
	assert.InDelta(t, decay.DefaultAt, r.At, 0)
	require.NotNil(t, r.LeakRate)
	assert.True(t, r.LeakRate.Low < truth.LeakRate && truth.LeakRate < r.LeakRate.High)

	full := decay.Fit(h, told(truth))
	assert.Empty(t, full.Notes, "all was told")
	assert.Greater(t, r.LeakRate.U, full.LeakRate.U, "what was not told costs")

	s.Sensor.Thermometer = true
	h, _ = found(t, s)
	r = decay.Fit(h, decay.Setup{})
	assert.True(t, noted(r, "The temperature is the gauge's own: 22."), r.Notes)
}

func TestFitOfAnAbsoluteGauge(t *testing.T) {
	s := scene(t, 12, 0.1)
	s.Sensor.Absolute = true
	h, truth := found(t, s)
	require.Equal(t, trace.Absolute, h.Kind)
	in := told(truth)
	in.Ambient = decay.Input{}
	r := decay.Fit(h, in)
	require.NotNil(t, r.LeakRate, r.Notes)
	assert.InEpsilon(t, truth.LeakRate, r.LeakRate.Value, 0.05)
	assert.InDelta(t, room.Ambient, r.Zero.Value, 20, "its zero is the ambient pressure")
	assert.True(t, noted(r, "ambient pressure is the gauge's own at rest: 98.3"), r.Notes)
	in.Ambient = decay.Input{Value: h.RestLevel, U: 100}
	assert.Equal(t, *decay.Fit(h, in).LeakRate, *r.LeakRate, "as if its rest had been told")
}

func TestFitSubtractsTheRig(t *testing.T) {
	h, truth := found(t, scene(t, 12, 0.1))
	s := told(truth)
	bare := decay.Fit(h, s)
	s.Rig = decay.Input{Value: 0.3 * truth.LeakRate, U: 0.05 * truth.LeakRate}
	net := decay.Fit(h, s)
	assert.InEpsilon(t, bare.LeakRate.Value-s.Rig.Value, net.LeakRate.Value, 1e-12)
	assert.InEpsilon(t, math.Hypot(bare.LeakRate.U, s.Rig.U), net.LeakRate.U, 1e-9)
	assert.InEpsilon(t, s.Rig.U, contribution(net, "rig").U, 1e-12)
	assert.InEpsilon(t, bare.PressureRate.Value, net.PressureRate.Value, 1e-12, "the pressure rate is the whole's")
}

func TestFitStatesTheRateAtAnyDifference(t *testing.T) {
	for _, share := range []float64{0, 1} {
		s := scene(t, 12, share)
		h, truth := found(t, s)
		in := told(truth)
		for _, at := range []float64{1200, 2000, 2500} {
			in.At = at
			r := decay.Fit(h, in)
			require.NotNil(t, r.LeakRate, r.Notes)
			want := s.Leaks[0].Throughput(room.Ambient-at, room)
			assert.InDelta(t, at, r.At, 0)
			assert.True(t, r.LeakRate.Low < want && want < r.LeakRate.High, "share %g at %g Pa: %+v of %g", share, at, *r.LeakRate, want)
			assert.InEpsilon(t, want, r.LeakRate.Value, 0.06, "share %g at %g Pa", share, at)
		}
		in.At = 6000
		assert.True(t, noted(decay.Fit(h, in), "extrapolation"), "beyond what was held")
	}
}

func TestFitLetsATightJointComeOutBelowZero(t *testing.T) {
	below, outside := 0, 0
	for seed := range uint64(8) {
		s := scene(t, math.Inf(1), 0)
		s.Seed = seed + 1
		h, truth := found(t, s)
		r := decay.Fit(h, told(truth))
		require.NotNil(t, r.LeakRate, r.Notes)
		if r.LeakRate.Low > 0 || r.LeakRate.High < 0 {
			outside++
		}
		assert.Nil(t, r.TimeConstant, "no rate that is clearly above 0, no time constant")
		if r.LeakRate.Value < 0 {
			below++
		}
	}
	// Half of them would, by a fair coin; none of eight in 0.4 % of cases.
	assert.Positive(t, below)
	// More than two of eight 95 % intervals miss in 0.6 % of cases.
	assert.LessOrEqual(t, outside, 2)
}

func TestFitRefusesWhatItCannotMeasure(t *testing.T) {
	plain, truth := found(t, scene(t, 12, 0.1))
	for name, c := range map[string]struct {
		change func(h *hold.Hold)
		reason string
	}{
		"never isolated": {func(h *hold.Hold) { h.Held, h.Isolation = hold.Span{}, math.NaN() }, "never isolated"},
		"nine readings":  {func(h *hold.Hold) { h.Held.To = h.Held.From + 9 }, "Only 9 usable readings"},
		"saturated": {func(h *hold.Hold) {
			h.Unusable = h.Held.Len() / 3
			h.Saturated = h.Unusable
		}, "saturated"},
		"disowned by the gauge": {func(h *hold.Hold) { h.Unusable = h.Held.Len()*6/10 + 1 }, "disowned"},
		"half lost":             {func(h *hold.Hold) { h.Lost = h.Held.Len() + 1 }, "lost"},
	} {
		t.Run(name, func(t *testing.T) {
			h := *plain
			c.change(&h)
			r := decay.Fit(&h, told(truth))
			assert.Equal(t, decay.Refused, r.Status)
			assert.Nil(t, r.LeakRate)
			assert.Nil(t, r.PressureRate)
			assert.Nil(t, r.TimeConstant)
			require.NotEmpty(t, r.Notes)
			assert.Contains(t, r.Notes[len(r.Notes)-1], c.reason)
			assert.Equal(t, decay.Method, r.Method)
		})
	}
}

func TestFitNeverFails(t *testing.T) {
	plain, truth := found(t, scene(t, 12, 0.1))
	for name, pressure := range map[string]func(i int, was float64) float64{
		"flat at zero":   func(int, float64) float64 { return 0 },
		"flat and drawn": func(int, float64) float64 { return -2500 },
		"a sawtooth":     func(i int, _ float64) float64 { return -float64(i%50) * 100 },
		"growing":        func(i int, _ float64) float64 { return -float64(i) },
		"beyond vacuum":  func(i int, was float64) float64 { return was * 60 },
	} {
		t.Run(name, func(t *testing.T) {
			h := *plain
			h.Readings = slices.Clone(plain.Readings)
			for i := h.Held.From; i < h.Held.To; i++ {
				h.Readings[i].Pressure = pressure(i, h.Readings[i].Pressure)
			}
			var r decay.Result
			require.NotPanics(t, func() { r = decay.Fit(&h, told(truth)) })
			if r.LeakRate == nil {
				assert.NotEmpty(t, r.Notes)
				return
			}
			for _, v := range []float64{r.LeakRate.Value, r.LeakRate.U, r.LeakRate.Low, r.LeakRate.High, r.PressureRate.Value, r.SCCM.Value} {
				assert.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%+v", r.LeakRate)
			}
		})
	}
}
