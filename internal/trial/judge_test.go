package trial_test

import (
	"encoding/json"
	"maps"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/trial"
)

// held simulates one hold of a joint of 39 ml that leaks 3 mPa·m³/s at 2.5 kPa.
func held(t *testing.T) (*hold.Hold, sim.Truth) {
	t.Helper()
	leak, err := sim.NewLeak(3e-3, 0.1, sim.StatedPa, sim.Suction, sim.Air{})
	require.NoError(t, err)
	tr, truths, err := sim.Scenario{
		Joint:  sim.Joint{Segments: []sim.Segment{sim.Tube(7.4e-3, 39e-6)}},
		Leaks:  []sim.Leak{leak},
		Holds:  []sim.Hold{{Rest: 2, Draw: sim.Draw{To: 3000, Seconds: 1}, Seconds: 10, After: 2.2}},
		Sensor: sim.Sensor{Noise: 1, Zero: 13},
		Seed:   1,
	}.Run()
	require.NoError(t, err)
	holds := hold.Find(tr)
	require.Len(t, holds, 1)
	return holds[0], truths[0]
}

// told is what a careful repairer tells of it.
func told(truth sim.Truth) decay.Setup {
	return decay.Setup{
		Volume: decay.Input{Value: truth.Volume, U: 0.01 * truth.Volume}, Bore: decay.Input{Value: 2 * truth.Bore},
		Ambient:     decay.Input{Value: truth.Ambient, U: 100},
		Temperature: decay.Input{Value: truth.Temperature, U: 0.5},
	}
}

// object reads back what is printed.
func object(t *testing.T, v any) map[string]any {
	t.Helper()
	text, err := json.Marshal(v)
	require.NoError(t, err)
	var m map[string]any
	require.NoError(t, json.Unmarshal(text, &m))
	return m
}

func keys(t *testing.T, v any) []string {
	t.Helper()
	m, ok := v.(map[string]any)
	require.True(t, ok, "%v is no object", v)
	return slices.Sorted(maps.Keys(m))
}

func TestTheObjectHasTheFieldsOfTheContract(t *testing.T) {
	h, truth := held(t)
	o := trial.Judge(h, told(truth), 5e-3)
	m := object(t, o)
	assert.Equal(t, []string{
		"at_pa", "budget", "decision", "disturbed", "hold", "inertial_share", "leak_rate", "leak_rate_sccm", "method",
		"notes", "pressure_rate_pa_s", "schema", "sign", "time_constant_s", "verdict", "zero_pa",
	}, keys(t, m))
	assert.Equal(t, []string{"coverage", "high", "low", "u", "unit", "value"}, keys(t, m["leak_rate"]))
	assert.Equal(t, []string{"high", "low", "u", "value"}, keys(t, m["leak_rate_sccm"]))
	for _, name := range []string{"time_constant_s", "inertial_share", "zero_pa", "pressure_rate_pa_s"} {
		assert.Equal(t, []string{"u", "value"}, keys(t, m[name]), name)
	}
	assert.Equal(t, []string{"delta_end_pa", "delta_start_pa", "end_s", "ending", "held_s", "lost", "readings", "start_s"}, keys(t, m["hold"]))
	assert.Equal(t, []string{"limit_pa_m3_s", "limit_sccm", "p_conform", "rule"}, keys(t, m["decision"]))
	budget, ok := m["budget"].([]any)
	require.True(t, ok)
	require.NotEmpty(t, budget)
	assert.Equal(t, []string{"source", "u", "u_relative"}, keys(t, budget[0]))

	assert.Equal(t, "boretight/fit/1", m["schema"])
	assert.Equal(t, "suction", m["sign"])
	assert.Equal(t, 2500.0, m["at_pa"])
	assert.Equal(t, "pass", m["verdict"])
	rate, _ := m["leak_rate"].(map[string]any)
	assert.Equal(t, "Pa·m³/s", rate["unit"])
	assert.Equal(t, 0.95, rate["coverage"])

	o.ID, o.Gauge, o.File = "1", "sim", "a.csv"
	all := keys(t, object(t, o))
	for _, name := range []string{"id", "gauge", "file"} {
		assert.Contains(t, all, name)
	}
}

func TestAJudgedHoldTellsTheTruth(t *testing.T) {
	h, truth := held(t)
	o := trial.Judge(h, told(truth), 0)
	require.NotNil(t, o.LeakRate)
	assert.InDelta(t, truth.LeakRate, o.LeakRate.Value, 4*o.LeakRate.U)
	assert.Less(t, o.LeakRate.U, 0.05*truth.LeakRate)
	require.NotNil(t, o.TimeConstant)
	assert.InDelta(t, truth.TimeConstant, o.TimeConstant.Value, 4*o.TimeConstant.U)
	require.NotNil(t, o.Zero)
	assert.InDelta(t, 13, o.Zero.Value, 0.5)
	require.NotNil(t, o.Hold)
	assert.InDelta(t, truth.Isolated, o.Hold.Start, 0.05)
	assert.InDelta(t, truth.Vented, o.Hold.End, 0.2)
	assert.InDelta(t, truth.DeltaVented, o.Hold.DeltaEnd, 15)
	assert.Equal(t, "vented", o.Hold.Ending)
	assert.Zero(t, o.Hold.Lost)
	assert.InDelta(t, 1000, o.Hold.Readings, 30)
}

func TestWithoutALimitThereIsNoVerdict(t *testing.T) {
	h, truth := held(t)
	m := object(t, trial.Judge(h, told(truth), 0))
	assert.NotContains(t, m, "verdict")
	assert.NotContains(t, m, "decision")
}

func TestWhatIsNotKnownIsNull(t *testing.T) {
	h, truth := held(t)
	setup := told(truth)
	setup.Volume = decay.Input{}
	o := trial.Judge(h, setup, 5e-3)
	m := object(t, o)
	for _, name := range []string{"leak_rate", "leak_rate_sccm"} {
		assert.Contains(t, m, name)
		assert.Nil(t, m[name], name)
	}
	assert.NotNil(t, m["time_constant_s"], "without a volume the time constant is known all the same")
	assert.NotEmpty(t, o.Notes, "and the notes say why")
	assert.Equal(t, trial.Inconclusive, o.Verdict)
	assert.Equal(t, 0.5, o.Decision.PConform)
	assert.Contains(t, o.Decision.Next, "leakage rate", "what would help is said")
	// 5e-3 Pa·m³/s at 293.15 K over 1 cm³/min at 0 °C and 101.325 kPa.
	assert.InEpsilon(t, 5e-3/(1.68875e-3*293.15/273.15), o.Decision.LimitSCCM, 1e-9)
}

func TestAHoldNeverIsolatedIsAnObjectOfNulls(t *testing.T) {
	h, _ := held(t)
	never := &hold.Hold{Sign: hold.Suction, Readings: h.Readings[:250], Before: h.Before, Draw: 200, Isolation: math.NaN(), Interval: 0.01, Noise: 1}
	m := object(t, trial.Judge(never, decay.Setup{}, 5e-3))
	for _, name := range []string{"leak_rate", "leak_rate_sccm", "time_constant_s", "inertial_share", "hold", "zero_pa"} {
		assert.Contains(t, m, name)
		assert.Nil(t, m[name], name)
	}
	assert.Equal(t, []any{}, m["budget"], "lists are lists")
	assert.NotEmpty(t, m["notes"])
	assert.Equal(t, "inconclusive", m["verdict"])
}

func TestThroughputInCubicCentimetresAMinute(t *testing.T) {
	h, truth := held(t)
	setup := told(truth)
	setup.Temperature = decay.Input{Value: 295.65, U: 0.5}
	o := trial.Judge(h, setup, 3.94e-3)
	require.NotNil(t, o.SCCM)
	// One cm³/min at 0 °C and 101.325 kPa is 101325·1e-6/60 = 1.68875e-3 Pa·m³/s there,
	// and T/273.15 of that at T.
	one := 1.68875e-3 * 295.65 / 273.15
	assert.InEpsilon(t, o.LeakRate.Value/one, o.SCCM.Value, 1e-9)
	assert.InEpsilon(t, 2.1555, o.Decision.LimitSCCM, 1e-4)
	assert.GreaterOrEqual(t, o.SCCM.U/o.SCCM.Value, o.LeakRate.U/o.LeakRate.Value, "the temperature adds its doubt")
}

// slipped simulates a hold of the same joint in which a second leak opens.
func slipped(t *testing.T, after float64) (*hold.Hold, sim.Truth) {
	t.Helper()
	tight, err := sim.NewLeak(2e-3, 0.1, sim.StatedPa, sim.Suction, sim.Air{})
	require.NoError(t, err)
	tr, truths, err := sim.Scenario{
		Joint:  sim.Joint{Segments: []sim.Segment{sim.Tube(7.4e-3, 39e-6)}},
		Leaks:  []sim.Leak{tight},
		Holds:  []sim.Hold{{Rest: 2, Draw: sim.Draw{To: 3000, Seconds: 1}, Seconds: 16, After: 2.2}},
		Events: sim.Events{Openings: []sim.Opening{{Leak: tight, From: after, Over: 0.02}}},
		Sensor: sim.Sensor{Noise: 1, Zero: 13},
		Seed:   1,
	}.Run()
	require.NoError(t, err)
	holds := hold.Find(tr)
	require.Len(t, holds, 1)
	return holds[0], truths[0]
}

func TestAHoldCutShortSaysAfterHowLong(t *testing.T) {
	h, truth := slipped(t, 9)
	setup := told(truth)
	setup.Bore = decay.Input{} // so that an assumption is noted too
	o := trial.Judge(h, setup, 5e-3)
	after, cut := o.CutShort()
	require.True(t, cut, "%v", o.Notes)
	assert.InDelta(t, 9, after, 1.6)
	assert.InDelta(t, 16, o.Hold.Held, 0.3)
	require.Greater(t, len(o.Notes), 1)
	assert.Contains(t, o.Notes[0], "after isolation", "what happened stands before what was assumed")
	assert.Equal(t, 1, o.Pressing, "%v", o.Notes)
	o.Press("The cable was pulled.")
	assert.Equal(t, 2, o.Pressing)
	assert.Equal(t, "The cable was pulled.", o.Notes[0])
	assert.Contains(t, o.Notes[len(o.Notes)-1], "No bore was told")

	quiet, truth := held(t)
	_, cut = trial.Judge(quiet, told(truth), 5e-3).CutShort()
	assert.False(t, cut)
	for name, o := range map[string]trial.Outcome{
		"without a hold":                           {Disturbed: true},
		"disturbed, and all of it used":            {Disturbed: true, Hold: &trial.Extent{Start: 2, End: 12, Held: 10.2}},
		"of before the whole length was kept":      {Disturbed: true, Hold: &trial.Extent{Start: 2, End: 12}},
		"shorter than held, but by no disturbance": {Hold: &trial.Extent{Start: 2, End: 7, Held: 10}},
	} {
		_, cut := o.CutShort()
		assert.False(t, cut, name)
	}
}
