package decay_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
)

const (
	knockedAside = "knocked aside and came back"
	onlyBefore   = "only the stretch before counts"
	warmedNote   = "The joint warmed or cooled during the hold"
)

// of is a scene of the given sign, time constant in s and length of the hold in s.
func of(t *testing.T, sign sim.Sign, tau, seconds float64) sim.Scenario {
	t.Helper()
	s := scene(t, tau, 0.1)
	s.Holds[0].Sign, s.Holds[0].Seconds = sign, seconds
	s.Leaks = []sim.Leak{seat(t, s, tau)}
	return s
}

// seat leaks so that the scene's joint with it alone has the time constant tau in s.
func seat(t *testing.T, s sim.Scenario, tau float64) sim.Leak {
	t.Helper()
	leak, err := sim.NewLeak(2500*s.Joint.Volume()/tau, 0.1, 2500, s.Holds[0].Sign, room)
	require.NoError(t, err)
	return leak
}

// knocked adds a knock of so many pascals, with the share of it that stays.
func knocked(s sim.Scenario, pascals, at, residue float64) sim.Scenario {
	s.Events.Bumps = append(s.Events.Bumps, sim.Bump{
		At: at, Seconds: 0.2, Volume: pascals / room.Ambient * s.Joint.Volume(), Residue: residue,
	})
	return s
}

// ends is when the stretch that the result goes by ends, in s since isolation.
func ends(h *hold.Hold, r decay.Result) float64 {
	return h.Readings[r.Used.To-1].Seconds() - h.Isolation
}

// holds asserts that the result has an interval and the truth lies in it.
func holds(t *testing.T, r decay.Result, truth sim.Truth) {
	t.Helper()
	require.NotNil(t, r.LeakRate, r.Notes)
	assert.True(t, r.LeakRate.Low <= truth.LeakRate && truth.LeakRate <= r.LeakRate.High,
		"%+v has not %g", *r.LeakRate, truth.LeakRate)
	assert.Less(t, r.LeakRate.Relative(), 0.06, "nor is it a wide guess")
}

func bothSigns(t *testing.T, test func(t *testing.T, sign sim.Sign)) {
	t.Run("under suction", func(t *testing.T) { test(t, sim.Suction) })
	t.Run("under pressure", func(t *testing.T) { test(t, sim.Pressure) })
}

func TestALeakThatGrowsEndsTheStretchBeforeIt(t *testing.T) {
	for _, c := range []struct {
		name  string
		event sim.Opening // its leak has the time constant tau
		tau   float64
	}{
		{"a leak that doubles", sim.Opening{From: 7, Over: 0.02}, 12},
		{"a finger that slips over 3 s", sim.Opening{From: 6, Over: 3}, 8},
		{"a slip that is set right again", sim.Opening{From: 6, Over: 0.2, Until: 6.5, Closing: 0.2}, 8},
		{"a slow slip that is set right again", sim.Opening{From: 6, Over: 1, Until: 8, Closing: 0.3}, 8},
		{"a leak of twenty times as much", sim.Opening{From: 6, Over: 0.02}, 0.6},
	} {
		t.Run(c.name, func(t *testing.T) {
			bothSigns(t, func(t *testing.T, sign sim.Sign) {
				s := of(t, sign, 12, 14)
				c.event.Leak = seat(t, s, c.tau)
				s.Events.Openings = []sim.Opening{c.event}
				h, truth := found(t, s)
				r := decay.Fit(h, told(truth))
				assert.True(t, r.Disturbed)
				assert.True(t, noted(r, "began to leak more"), r.Notes)
				assert.True(t, noted(r, onlyBefore), r.Notes)
				assert.False(t, noted(r, knockedAside), "air was lost: %v", r.Notes)
				holds(t, r, truth)
				assert.Less(t, ends(h, r), c.event.From)
				assert.Greater(t, ends(h, r), c.event.From-1.5)
				assert.Equal(t, h.Held.From, r.Used.From)
			})
		})
	}
}

func TestADoubledLeakCostsLessThanASecondBeforeIt(t *testing.T) {
	bothSigns(t, func(t *testing.T, sign sim.Sign) {
		for seed := range uint64(4) {
			s := of(t, sign, 12, 14)
			s.Seed = 40 + seed
			s.Events.Openings = []sim.Opening{{Leak: seat(t, s, 12), From: 7, Over: 0.02}}
			h, truth := found(t, s)
			r := decay.Fit(h, told(truth))
			require.NotNil(t, r.LeakRate, r.Notes)
			assert.Less(t, ends(h, r), 7.0, "seed %d", s.Seed)
			assert.Greater(t, ends(h, r), 6.0, "seed %d", s.Seed)
		}
	})
}

func TestAKnockThatComesBackCostsOnlyItsMoment(t *testing.T) {
	bothSigns(t, func(t *testing.T, sign sim.Sign) {
		h, truth := found(t, of(t, sign, 12, 14))
		quiet := decay.Fit(h, told(truth))
		require.False(t, quiet.Disturbed, quiet.Notes)
		for _, pascals := range []float64{-80, 80} {
			h, truth := found(t, knocked(of(t, sign, 12, 14), pascals, 6, 0))
			r := decay.Fit(h, told(truth))
			assert.True(t, r.Disturbed)
			assert.True(t, noted(r, "6.0 s after isolation the pressure was "+knockedAside), r.Notes)
			assert.False(t, noted(r, onlyBefore), r.Notes)
			holds(t, r, truth)
			assert.Equal(t, h.Held, r.Used, "the whole stretch")
			assert.InDelta(t, 100, quiet.Readings-r.Readings, 2, "less one second of 100 readings")
			assert.Greater(t, r.LeakRate.U, quiet.LeakRate.U, "what the knock may have left is in the interval")
			assert.Positive(t, contribution(r, "knock").U)
			assert.Zero(t, contribution(quiet, "knock"))
		}
	})
}

func TestAKnockThatLeavesAStepEndsTheStretchBeforeIt(t *testing.T) {
	bothSigns(t, func(t *testing.T, sign sim.Sign) {
		for _, pascals := range []float64{-80, 80} {
			h, truth := found(t, knocked(of(t, sign, 12, 14), pascals, 6, 0.3))
			r := decay.Fit(h, told(truth))
			assert.True(t, r.Disturbed)
			assert.True(t, noted(r, onlyBefore), r.Notes)
			assert.False(t, noted(r, knockedAside), "it did not come back: %v", r.Notes)
			holds(t, r, truth)
			assert.Less(t, ends(h, r), 6.0)
			assert.Greater(t, ends(h, r), 5.0)
		}
	})
}

// A step of a few pascals passes for none, and the interval allows for it.
func TestAKnockThatLeavesNextToNothing(t *testing.T) {
	for _, residue := range []float64{0.01, 0.02} {
		h, truth := found(t, knocked(of(t, sim.Suction, 40, 20), 80, 6, residue))
		r := decay.Fit(h, told(truth))
		assert.True(t, noted(r, knockedAside), r.Notes)
		assert.Equal(t, h.Held, r.Used)
		holds(t, r, truth)
	}
}

func TestThreeKnocksAreLeftOutAndTheFourthEndsTheStretch(t *testing.T) {
	bothSigns(t, func(t *testing.T, sign sim.Sign) {
		s := of(t, sign, 25, 18)
		h, truth := found(t, s)
		quiet := decay.Fit(h, told(truth))

		for _, at := range []float64{4, 8, 12} {
			s = knocked(s, 20, at, 0)
		}
		h, truth = found(t, s)
		r := decay.Fit(h, told(truth))
		assert.True(t, r.Disturbed)
		assert.True(t, noted(r, knockedAside), r.Notes)
		assert.Equal(t, h.Held, r.Used)
		assert.InDelta(t, 300, quiet.Readings-r.Readings, 6)
		holds(t, r, truth)

		h, truth = found(t, knocked(s, 20, 16, 0))
		r = decay.Fit(h, told(truth))
		assert.True(t, r.Disturbed)
		assert.True(t, noted(r, onlyBefore), r.Notes)
		assert.Less(t, ends(h, r), 16.0)
		holds(t, r, truth)
	})
}

// Knocks to and fro bend the fit of the whole so that the first of them shows best in
// the fit of a beginning. The last comes so late that nothing follows to compare with.
func TestKnocksToAndFroAreToldApart(t *testing.T) {
	bothSigns(t, func(t *testing.T, sign sim.Sign) {
		s := of(t, sign, 12, 18)
		s = knocked(knocked(knocked(s, 60, 4, 0), -60, 10, 0), 60, 16, 0)
		h, truth := found(t, s)
		r := decay.Fit(h, told(truth))
		assert.True(t, r.Disturbed)
		assert.True(t, noted(r, knockedAside), r.Notes)
		assert.True(t, noted(r, onlyBefore), r.Notes)
		assert.Greater(t, ends(h, r), 14.0, r.Notes)
		assert.Less(t, ends(h, r), 16.0)
		holds(t, r, truth)
	})
}

// A repairer who vents when a twentieth is left has done nothing wrong.
func TestALateVentIsNoDisturbance(t *testing.T) {
	bothSigns(t, func(t *testing.T, sign sim.Sign) {
		for _, seconds := range []float64{10, 12, 14} { // 8, 5 and 3 % left
			h, truth := found(t, of(t, sign, 4, seconds))
			r := decay.Fit(h, told(truth))
			assert.False(t, r.Disturbed, r.Notes)
			assert.Empty(t, r.Notes)
			holds(t, r, truth)
			vented := truth.Vented - truth.Isolated
			assert.Less(t, ends(h, r), vented, "before the vent")
			assert.Greater(t, ends(h, r), vented-0.8)
		}
	})
}

func TestALampIsToldAndCosts(t *testing.T) {
	for sign, rate := range map[sim.Sign]float64{sim.Suction: -0.03, sim.Pressure: 0.03} {
		s := of(t, sign, 12, 14)
		h, truth := found(t, s)
		quiet := decay.Fit(h, told(truth))
		s.Events.Lamps = []sim.Lamp{{At: -3, Seconds: 60, Rate: rate, Segment: -1}}
		h, truth = found(t, s)
		r := decay.Fit(h, told(truth))
		assert.True(t, r.Disturbed, "%g K/s", rate)
		assert.True(t, noted(r, warmedNote), r.Notes)
		assert.Equal(t, h.Held, r.Used)
		holds(t, r, truth)
		assert.Greater(t, r.LeakRate.U, 1.05*quiet.LeakRate.U)
		warm := contribution(r, "temperature drift").U
		assert.Greater(t, warm, 3*contribution(quiet, "temperature drift").U)
	}
}

func TestARedrawnHoldIsTold(t *testing.T) {
	bothSigns(t, func(t *testing.T, sign sim.Sign) {
		s := of(t, sign, 12, 6)
		first, second := s.Holds[0], s.Holds[0]
		first.Vent, first.After = sim.Vent{None: true}, 0
		second.Rest, second.Draw.To, second.Seconds = 0, 3100, 14
		s.Holds = []sim.Hold{first, second}
		tr, truths, err := s.Run()
		require.NoError(t, err)
		cut := hold.Find(tr)
		require.Len(t, cut, 2)
		require.Equal(t, hold.Redrawn, cut[0].Ending)

		r := decay.Fit(cut[0], told(truths[0]))
		assert.True(t, r.Disturbed)
		assert.True(t, noted(r, "drawn again without a vent"), r.Notes)
		holds(t, r, truths[0])
		r = decay.Fit(cut[1], told(truths[1]))
		assert.False(t, noted(r, "drawn again"), r.Notes)
		holds(t, r, truths[1])
	})
}

func TestQuietHoldsAreNotDisturbed(t *testing.T) {
	for _, name := range []string{"small-laminar", "wide", "fast", "mixed-law", "pressure", "tight", "correlated", "lossy", "creep"} {
		family, err := sim.FamilyNamed(name)
		require.NoError(t, err)
		for i := range uint64(5) {
			tr, truths, err := family.Draw(rand.New(rand.NewPCG(77, i))).Run()
			require.NoError(t, err)
			cut := hold.Find(tr)
			require.NotEmpty(t, cut, "%s %d", name, i)
			r := decay.Fit(cut[0], told(truths[0]))
			require.Equal(t, decay.Converged, r.Status, "%s %d: %v", name, i, r.Notes)
			assert.False(t, r.Disturbed, "%s %d: %v", name, i, r.Notes)
		}
	}
}

func TestAChangeWithinTwoSecondsLeavesNoLeakageRate(t *testing.T) {
	bothSigns(t, func(t *testing.T, sign sim.Sign) {
		for _, from := range []float64{1.3, 1.5, 1.7} {
			s := of(t, sign, 12, 14)
			s.Events.Openings = []sim.Opening{{Leak: seat(t, s, 6), From: from, Over: 0.02}}
			h, truth := found(t, s)
			r := decay.Fit(h, told(truth))
			assert.True(t, r.Disturbed, "after %g s", from)
			assert.NotEqual(t, decay.Converged, r.Status)
			assert.Nil(t, r.LeakRate)
			assert.Nil(t, r.SCCM)
			assert.Nil(t, r.PressureRate)
			require.NotEmpty(t, r.Notes)
			assert.True(t, strings.HasPrefix(r.Notes[len(r.Notes)-1], "What was left undisturbed is shorter than 2 s"), r.Notes)
		}
	})
}

// Even a single hole as small as that lets air through as if it were a long gap.
func TestATrickleIsTakenForLaminar(t *testing.T) {
	perSCCM := 1 / decay.SCCM(1, room.Temperature) // Pa·m³/s
	s := scene(t, 2500*40e-6/(0.01*perSCCM), 0)
	s.Holds[0].Seconds = 20
	h, truth := found(t, s)
	in := told(truth)
	r := decay.Fit(h, in)
	require.NotNil(t, r.LeakRate, r.Notes)
	assert.InEpsilon(t, 0.01, decay.SCCM(truth.LeakRate, truth.Temperature), 1e-3)
	assert.Less(t, r.InertialShare.Value, 0.1)
	assert.Less(t, r.InertialShare.High, 0.3)
	assert.True(t, r.LeakRate.Low < truth.LeakRate && truth.LeakRate < r.LeakRate.High, "%+v", *r.LeakRate)
	in.Volume = decay.Input{}
	assert.Greater(t, decay.Fit(h, in).InertialShare.U, 3*r.InertialShare.U, "without a volume it is not known for a trickle")
}

func TestToldAmbientAgainstAnAbsoluteGauge(t *testing.T) {
	s := scene(t, 12, 0.1)
	s.Sensor.Absolute = true
	h, truth := found(t, s)
	fit := func(ambient decay.Input) decay.Result {
		in := told(truth)
		in.Ambient = ambient
		r := decay.Fit(h, in)
		require.NotNil(t, r.LeakRate, r.Notes)
		return r
	}
	const contradiction = "Look at both: is it the station's, not that at sea level?"

	agrees := fit(decay.Input{Value: h.RestLevel + 150, U: 100})
	assert.False(t, noted(agrees, contradiction), agrees.Notes)
	assert.Empty(t, agrees.Notes)

	unsure := fit(decay.Input{Value: 101325, U: 3000})
	assert.False(t, noted(unsure, contradiction), "its own doubt spans it: %v", unsure.Notes)

	seaLevel := fit(decay.Input{Value: 101325, U: 100})
	assert.True(t, noted(seaLevel, contradiction), seaLevel.Notes)
	assert.True(t, noted(seaLevel, "101.33 kPa") && noted(seaLevel, "98.31 kPa"), "both are named: %v", seaLevel.Notes)
	holds(t, seaLevel, truth)
	assert.False(t, seaLevel.Disturbed, "the hold is not to blame")

	s.Sensor.Absolute = false
	h, truth = found(t, s)
	gauge := fit(decay.Input{Value: 101325, U: 100})
	assert.False(t, noted(gauge, contradiction), "a gauge against ambient cannot know: %v", gauge.Notes)
}
