package trial_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/hold"
	"boretight/internal/trial"
)

var many = math.Inf(1)

func TestProbabilityOfConformityIsThatOfTheGuide(t *testing.T) {
	// JCGM 106:2012, 7.3.3, example 1: upper limit −5.40, estimate −5.47, u 0.05.
	assert.InDelta(t, 0.919, trial.Conformity(decay.Estimate{Value: -5.47, U: 0.05}, many, -5.40), 0.0005)
	// Example 2 has a lower limit: 490, estimate 509.7, u 8.6. What lies above it is
	// what does not conform to an upper one.
	assert.InDelta(t, 0.989, 1-trial.Conformity(decay.Estimate{Value: 509.7, U: 8.6}, many, 490), 0.0005)
}

func TestFewDegreesOfFreedomAskForMoreDistance(t *testing.T) {
	// One-sided 95 % points of Student's t, and of the normal, from the common tables.
	for dof, factor := range map[float64]float64{1: 6.3138, 2: 2.9200, 4: 2.1318, 10: 1.8125, 20: 1.7247, many: 1.6449} {
		q := decay.Estimate{Value: 3, U: 0.1}
		assert.InDelta(t, 0.95, trial.Conformity(q, dof, trial.Limit(3+0.1*factor)), 1e-5, "ν = %g", dof)
		assert.InDelta(t, 0.05, trial.Conformity(q, dof, trial.Limit(3-0.1*factor)), 1e-5, "ν = %g", dof)
	}
}

func TestWithoutUncertaintyTheLimitItselfConforms(t *testing.T) {
	assert.Equal(t, 1.0, trial.Conformity(decay.Estimate{Value: 3}, many, 3))
	assert.Equal(t, 0.0, trial.Conformity(decay.Estimate{Value: 3}, many, 2.999))
}

// stated is the outcome of a made-up fit with the given doubts, in Pa·m³/s.
func stated(value, own, common, dof float64, limit trial.Limit) trial.Outcome {
	u := math.Hypot(own, common)
	r := decay.Result{
		At: 2500, Temperature: 293.15, Dof: dof,
		LeakRate: &decay.Estimate{Value: value, U: u, Low: value - 1.959964*u, High: value + 1.959964*u},
		Budget:   []decay.Contribution{{Source: "volume", U: common}, {Source: "noise", U: own}},
	}
	one := decay.SCCM(1, 293.15)
	q := *r.LeakRate
	r.SCCM = &decay.Estimate{Value: q.Value * one, U: q.U * one, Low: q.Low * one, High: q.High * one}
	return trial.Stated(&hold.Hold{Sign: hold.Suction, Isolation: math.NaN()}, r, limit)
}

func TestVerdictsFollowTheRule(t *testing.T) {
	for _, c := range []struct {
		name    string
		limit   trial.Limit // the leakage rate is 3e-3 with u 1e-4
		dof     float64
		verdict trial.Verdict
	}{
		{"far below the limit passes", 4e-3, many, trial.Pass},
		{"1.65 u below passes", 3e-3 + 1.65e-4, many, trial.Pass},
		{"1.64 u below is not enough", 3e-3 + 1.64e-4, many, trial.Inconclusive},
		{"at the limit is undecided", 3e-3, many, trial.Inconclusive},
		{"1.64 u above is not enough", 3e-3 - 1.64e-4, many, trial.Inconclusive},
		{"1.65 u above fails", 3e-3 - 1.65e-4, many, trial.Fail},
		{"far above fails", 1e-3, many, trial.Fail},
		{"1.65 u with 4 degrees of freedom is not enough", 3e-3 + 1.65e-4, 4, trial.Inconclusive},
		{"2.14 u with 4 degrees of freedom passes", 3e-3 + 2.14e-4, 4, trial.Pass},
		{"2.14 u above with 4 degrees of freedom fails", 3e-3 - 2.14e-4, 4, trial.Fail},
	} {
		o := stated(3e-3, 1e-4, 0, c.dof, c.limit)
		assert.Equal(t, c.verdict, o.Verdict, c.name)
		require.NotNil(t, o.Decision, c.name)
		assert.Equal(t, float64(c.limit), o.Decision.Limit)
		assert.Contains(t, o.Decision.Rule, "at least 0.95")
		assert.Equal(t, c.verdict == trial.Inconclusive, o.Decision.Next != "", c.name)
	}
}

func TestAnUndecidedHoldSaysWhatWouldSettleIt(t *testing.T) {
	for _, c := range []struct {
		own, common float64
		limit       trial.Limit // the leakage rate is 3e-3
		next        string
	}{
		// Needed u: 1.3e-4/1.645 = 7.90e-5; holds (1e-4/7.90e-5)² = 1.6, so 2.
		{1e-4, 0, 3.13e-3, "1 more hold of the same length"},
		// Needed 1e-4/1.645 = 6.08e-5, of which 1e-5 is common: 1e-8/3.60e-9 = 2.8, so 3.
		{1e-4, 1e-5, 3.1e-3, "2 more holds of the same length"},
		{1e-4, 1e-5, 2.9e-3, "2 more holds of the same length"},
		{1e-5, 1e-4, 3.1e-3, "more holds will not help: the uncertainty of the volume decides (3.3 % of the leakage rate); measure the volume by a syringe step or a reference leak, to 2 % or better"},
		// So near that a thousand holds would not do.
		{1e-4, 0, 3.002e-3, "nothing within reach: the leakage rate lies 0.067 % from the limit, and its standard uncertainty of 3.3 % would have to fall to 0.041 %"},
	} {
		o := stated(3e-3, c.own, c.common, many, c.limit)
		assert.Equal(t, trial.Inconclusive, o.Verdict)
		assert.Equal(t, c.next, o.Decision.Next)
	}
}
