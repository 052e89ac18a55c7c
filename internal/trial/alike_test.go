package trial_test

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/trial"
)

func members() []trial.Member {
	var all []trial.Member
	for _, o := range three(1.5e-4, 4e-5) {
		all = append(all, trial.Member{Outcome: o, Joint: "oboe/upper", Closure: "all keys", Rig: "blank 7", Volume: 34.2e-6})
	}
	all[2].Outcome.ID = "c3"
	return all
}

func TestHoldsThatAreNotAlikeAreRefusedByName(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*trial.Member)
		says   string
	}{
		{"another joint", func(m *trial.Member) { m.Joint = "oboe/lower" }, "the joint differs: hold 1 oboe/upper, but hold c3 oboe/lower"},
		{"another closure", func(m *trial.Member) { m.Closure = "G pressed" }, "the closure differs: hold 1 all keys, but hold c3 G pressed"},
		{"the other sign", func(m *trial.Member) { m.Outcome.Sign = "pressure" }, "the sign differs: hold 1 suction, but hold c3 pressure"},
		{"another stated difference", func(m *trial.Member) { m.Outcome.At = 1000 }, "hold 1 2500 Pa, but hold c3 1000 Pa"},
		{"another volume", func(m *trial.Member) { m.Volume = 35e-6 }, "hold 1 34.2 ml, but hold c3 35 ml"},
		{"another rig", func(m *trial.Member) { m.Rig = "" }, "hold 1 blank 7, but hold c3 (not told)"},
	} {
		all := members()
		c.change(&all[2])
		_, err := trial.Pool(all, trial.Terms{})
		require.ErrorIs(t, err, trial.ErrUnlike, c.name)
		assert.ErrorContains(t, err, c.says, c.name)
	}
}

func TestAlikeHoldsMakeOneResultWithItsBudget(t *testing.T) {
	result, err := trial.Pool(members(), trial.Terms{Limit: 5e-3})
	require.NoError(t, err)
	assert.Equal(t, combine(three(1.5e-4, 4e-5), 0).LeakRate, result.LeakRate)
	assert.Equal(t, trial.Pass, result.Verdict)
	assert.Equal(t, "oboe/upper, all keys, blank 7, suction", result.Joint+", "+result.Closure+", "+result.Rig+", "+result.Sign)
	assert.Equal(t, []string{"noise", "volume"}, sources(result))
	noise, volume := line(t, result.Budget, "noise"), line(t, result.Budget, "volume")
	assert.False(t, noise.Shared)
	assert.InEpsilon(t, 1.5e-4/math.Sqrt(3), noise.U, 1e-9)
	assert.True(t, volume.Shared)
	assert.InEpsilon(t, 4e-5, volume.U, 1e-9)
	assert.InEpsilon(t, 0.01, volume.URelative, 1e-9)
	assert.NotNil(t, object(t, result)["budget"], "all of it can be printed")
}

func TestATrialReadBackIsWhatWasPrinted(t *testing.T) {
	all := members()
	for i := range all {
		all[i].Plugging = 1 + i/2
	}
	result, err := trial.Pool(all, trial.Terms{Limit: 5e-3, Known: trial.Repeatability{Holds: trial.Scatter{U: 1e-5, Dof: math.Inf(1)}}})
	require.NoError(t, err)
	text, err := json.Marshal(result)
	require.NoError(t, err)
	var back trial.Trial
	require.NoError(t, json.Unmarshal(text, &back))
	assert.Equal(t, result, back)
	assert.Equal(t, "between holds", line(t, back.Budget, "between holds").Source)
}

func TestLimitsThatAreNone(t *testing.T) {
	for _, limit := range []float64{0, -1e-3, math.NaN(), math.Inf(1)} {
		_, err := trial.NewLimit(limit)
		require.ErrorIs(t, err, trial.ErrLimit, "%g", limit)
		if limit == 0 {
			assert.ErrorContains(t, err, "no measurement shows that a joint leaks nothing")
			continue
		}
		_, err = trial.Pool(members(), trial.Terms{Limit: trial.Limit(limit)})
		require.ErrorIs(t, err, trial.ErrLimit, "%g", limit)
		o := stated(3e-3, 1e-4, 0, many, trial.Limit(limit))
		assert.Equal(t, trial.None, o.Verdict)
		assert.Contains(t, o.Notes[0], "There is no verdict")
	}
	l, err := trial.NewLimit(4e-3)
	require.NoError(t, err)
	assert.Equal(t, trial.Limit(4e-3), l)
	_, err = trial.Pool(nil, trial.Terms{})
	assert.Error(t, err)
}

func TestSCCMOfHoldsThatLeakNothing(t *testing.T) {
	all := []trial.Outcome{stated(0, 1e-5, 0, many, 0), stated(0, 1e-5, 0, many, 0)}
	c := combine(all, 0)
	require.NotNil(t, c.SCCM)
	assert.Zero(t, c.SCCM.Value)
	assert.InEpsilon(t, c.LeakRate.U/(1.68875e-3*293.15/273.15), c.SCCM.U, 1e-9)
	all[0].Temperature, all[1].Temperature = 0, 0 // as read back
	assert.InEpsilon(t, c.SCCM.U, combine(all, 0).SCCM.U, 1e-9)
}

func TestTheDoubtAboutTheTemperatureIsInTheSCCM(t *testing.T) {
	// 3 % beside the 1 % of each hold: √(1/2 + 9) = 3.082 % of the mean of two.
	o := stated(3e-3, 3e-5, 0, many, 0)
	o.SCCM.U = o.SCCM.Value * math.Hypot(0.01, 0.03)
	c := combine([]trial.Outcome{o, o}, 0)
	assert.InEpsilon(t, math.Sqrt(0.5+9)/100, c.SCCM.U/c.SCCM.Value, 1e-6)
	assert.InEpsilon(t, 1.959964, (c.SCCM.High-c.SCCM.Value)/c.SCCM.U, 1e-6)
	assert.InEpsilon(t, 1.959964, (c.SCCM.Value-c.SCCM.Low)/c.SCCM.U, 1e-6)
}

func TestIntervalsThatLeanStillDo(t *testing.T) {
	o := stated(3e-3, 1e-4, 2e-5, many, 0)
	o.LeakRate.Low, o.LeakRate.High = 2.9e-3, 3.3e-3 // a quarter below, three above
	c := combine([]trial.Outcome{o, o}, 0)
	low, high := c.LeakRate.Value-c.LeakRate.Low, c.LeakRate.High-c.LeakRate.Value
	assert.InEpsilon(t, 3, high/low, 1e-9)
	assert.InEpsilon(t, 3, (c.SCCM.High-c.SCCM.Value)/(c.SCCM.Value-c.SCCM.Low), 1e-9)

	limit := trial.Limit(3.18e-3)
	assert.Equal(t, trial.Inconclusive, combine([]trial.Outcome{o}, limit).Verdict, "1.8 u, but on its wide side")
	limit = 2.9e-3
	assert.Equal(t, trial.Fail, combine([]trial.Outcome{o}, limit).Verdict, "1 u, but on its narrow side")
}
