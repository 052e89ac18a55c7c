package trial_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/trial"
)

// result is a trial of a leakage rate with these lines: noise, volume, rig.
func result(value, noise, volume, rig float64) trial.Trial {
	u := math.Hypot(math.Hypot(noise, volume), rig)
	t := trial.Trial{Sign: "suction", At: 2500, LeakRate: &trial.LeakRate{Unit: "Pa·m³/s", Coverage: 0.95}}
	t.LeakRate.Estimate = decay.Estimate{Value: value, U: u, Low: value - 1.96*u, High: value + 1.96*u}
	for source, u := range map[string]float64{"noise": noise, "volume": volume, "rig": rig} {
		t.Budget = append(t.Budget, trial.Line{Contribution: decay.Contribution{Source: source, U: u}, Shared: source != "noise"})
	}
	return t
}

func TestAVolumeCancelsInTheRatioAndTheRigInTheDifference(t *testing.T) {
	found, left := result(4e-3, 2e-5, 8e-5, 3e-5), result(1e-3, 1e-5, 2e-5, 3e-5)
	c, err := trial.Compare(found, left, trial.SameBench())
	require.NoError(t, err)
	assert.Equal(t, "boretight/compare/1", c.Schema)
	assert.InEpsilon(t, 4, *c.Ratio.Value, 1e-12)
	// Relative: noise 0.5 % and 1 %; volume 2 % each, all cancelling; rig 0.75 % and 3 %,
	// cancelling to 2.25 %: √(0.5² + 1² + 2.25²) = 2.513 %.
	half := (*c.Ratio.High - c.Ratio.Low) / 2
	assert.InEpsilon(t, 4*1.96*0.02513, half, 0.01)
	// Difference: noise 2e-5 and 1e-5, volume 8e-5 − 2e-5, rig 0.
	assert.InEpsilon(t, 3e-3, c.Difference.Value, 1e-12)
	assert.InEpsilon(t, math.Sqrt(4+1+36)*1e-5, c.Difference.U, 1e-9)
	assert.Empty(t, c.Notes)

	apart, err := trial.Compare(found, left, trial.Common{})
	require.NoError(t, err)
	assert.InEpsilon(t, math.Sqrt(4+1+64+4+9+9)*1e-5, apart.Difference.U, 1e-9)
	assert.Greater(t, *apart.Ratio.High-apart.Ratio.Low, 1.5*(*c.Ratio.High-c.Ratio.Low), "on two rigs nothing cancels")
	assert.Contains(t, apart.Notes[0], "no error cancels")
}

func TestTheIntervalOfARatioIsFiellers(t *testing.T) {
	// The roots of (b² − k²v)·r² − 2ab·r + (a² − k²u) for a = 10 ± 1, b = 5 ± 1.
	c, err := trial.Compare(result(10, 1, 0, 0), result(5, 1, 0, 0), trial.Common{})
	require.NoError(t, err)
	k2 := 1.959963984540054 * 1.959963984540054
	a, b, d := 25-k2, -100.0, 100-k2
	root := math.Sqrt(b*b - 4*a*d)
	assert.InEpsilon(t, (-b-root)/(2*a), c.Ratio.Low, 1e-9)
	assert.InEpsilon(t, (-b+root)/(2*a), *c.Ratio.High, 1e-9)
}

func TestDifferencesOfFewReadingsAreWelchs(t *testing.T) {
	// 40 CFR 1065.602(f): 1205.3, s 9.399 of 11, against 1123.8, s 10.583 of 7: t 16.63, ν 11.76.
	side := func(mean, s, n float64) trial.Trial {
		t := result(mean, s/math.Sqrt(n), 0, 0)
		for i := range t.Budget {
			if t.Budget[i].Source == "noise" {
				t.Budget[i].Dof = n - 1
			}
		}
		return t
	}
	c, err := trial.Compare(side(1205.3, 9.399, 11), side(1123.8, 10.583, 7), trial.Common{})
	require.NoError(t, err)
	assert.InDelta(t, 16.63, c.Difference.Value/c.Difference.U, 0.005)
	k := (c.Difference.High - c.Difference.Value) / c.Difference.U
	assert.InDelta(t, 2.1838, k, 0.0005, "t for 11.76 degrees of freedom, between 2.201 of 11 and 2.179 of 12 (common tables)")
}

func TestAJointThatMayBeTightIsComparedFromBelow(t *testing.T) {
	for _, left := range []float64{1e-5, 0, -1e-5, -1e-3} {
		c, err := trial.Compare(result(4e-3, 2e-5, 8e-5, 0), result(left, 5e-5, 2e-7, 0), trial.SameBench())
		require.NoError(t, err)
		require.NotNil(t, c.Ratio)
		assert.Nil(t, c.Ratio.Value)
		assert.Nil(t, c.Ratio.High)
		// About 4e-3/(left + 1.645·5e-5).
		assert.InEpsilon(t, 4e-3/(max(left, 0)+1.645*5e-5), c.Ratio.Low, 0.002)
		assert.Contains(t, c.Sentence, "at least")
		assert.Equal(t, left == -1e-3, len(c.Notes) > 0, "well below nothing is not believed in silence")
		assert.Nil(t, object(t, c)["ratio"].(map[string]any)["high"])
	}
}

func TestSentences(t *testing.T) {
	for _, c := range []struct {
		found, left trial.Trial
		says        string
	}{
		{result(4e-3, 2e-5, 0, 0), result(1e-3, 1e-5, 0, 0), "As left, the joint is 4.00 times tighter than as found (95 % interval 3.91 to 4.09): 4.000e-3 ± 0.040e-3 Pa·m³/s then, 1.000e-3 ± 0.020e-3 Pa·m³/s now."},
		{result(4e-3, 2e-5, 0, 0), result(0, 5e-5, 0, 0), "As left, the joint is at least 48.6 times tighter than as found: 4.000e-3 ± 0.040e-3 Pa·m³/s then, 0.0e-4 ± 1.0e-4 Pa·m³/s now, which cannot be told from no leak."},
		{result(4e-3, 1e-4, 0, 0), result(4.1e-3, 1e-4, 0, 0), "No change is shown: 4.00e-3 ± 0.20e-3 Pa·m³/s as found, 4.10e-3 ± 0.20e-3 Pa·m³/s as left; their difference may be nothing (95 % interval -3.8e-4 to 1.8e-4 Pa·m³/s)."},
		{result(1e-3, 1e-5, 0, 0), result(4e-3, 2e-5, 0, 0), "As left, the joint leaks 4.00 times as much as it did as found (95 % interval 3.91 to 4.09): 1.000e-3 ± 0.020e-3 Pa·m³/s then, 4.000e-3 ± 0.040e-3 Pa·m³/s now."},
		{result(1e-5, 1e-5, 0, 0), result(2e-5, 1e-5, 0, 0), "As found, the joint leaked too little to say how many times it was changed: 1.0e-5 ± 2.0e-5 Pa·m³/s as found, 2.0e-5 ± 2.0e-5 Pa·m³/s as left."},
		{result(1e-3, 1e-5, 0, 0), result(0, 0, 0, 0), "As found"},
	} {
		got, err := trial.Compare(c.found, c.left, trial.SameBench())
		require.NoError(t, err)
		assert.Contains(t, got.Sentence, c.says)
	}
}

// Of few holds a difference may be more than its U (k = 2) and yet be nothing: the interval
// that is printed and the sentence agree.
func TestTheSentenceFollowsTheIntervalOfTheDifference(t *testing.T) {
	few := func(value, u float64) trial.Trial {
		one := result(value, u, 0, 0)
		for i := range one.Budget {
			if one.Budget[i].Source == "noise" {
				one.Budget[i].Dof = 1
			}
		}
		one.SCCM = &decay.Estimate{Value: 550 * value, U: 550 * u, Low: 550 * (value - 2*u), High: 550 * (value + 2*u)}
		return one
	}
	for _, c := range []struct {
		name        string
		found, left trial.Trial
	}{
		{"two holds a side", few(6.5e-3, 1e-3), few(3.3e-3, 0.7e-3)},
		{"as left bounded on one side only", few(2e-3, 1e-4), few(1e-3, 9e-4)},
		{"as left below nothing", result(1e-4, 6e-5, 0, 0), result(-5e-5, 4e-5, 0, 0)},
		{"plain", result(4e-3, 2e-5, 0, 0), result(1e-3, 1e-5, 0, 0)},
	} {
		got, err := trial.Compare(c.found, c.left, trial.SameBench())
		require.NoError(t, err)
		nothing := got.Difference.Low <= 0 && got.Difference.High >= 0
		if got.Ratio != nil {
			assert.Equal(t, nothing, strings.HasPrefix(got.Sentence, "No change is shown"), "%s: %s", c.name, got.Sentence)
		}
		if c.found.SCCM != nil && c.left.SCCM != nil {
			require.NotNil(t, got.DifferenceSCCM, c.name)
			assert.InEpsilon(t, 550*got.Difference.Value, got.DifferenceSCCM.Value, 1e-9)
			assert.InEpsilon(t, 550*got.Difference.Low, got.DifferenceSCCM.Low, 1e-6)
		}
	}
	apart, err := trial.Compare(few(6.5e-3, 1e-3), few(3.3e-3, 0.7e-3), trial.SameBench())
	require.NoError(t, err)
	assert.Greater(t, apart.Difference.Value, 2*apart.Difference.U, "more than U (k = 2)")
	assert.Contains(t, apart.Sentence, "their difference may be nothing (95 % interval")
}

func TestWhatCannotBeCompared(t *testing.T) {
	good, none := result(4e-3, 2e-5, 0, 0), result(4e-3, 2e-5, 0, 0)
	none.LeakRate = nil
	_, err := trial.Compare(none, good, trial.Common{})
	require.ErrorIs(t, err, trial.ErrNoRate)
	assert.ErrorContains(t, err, "as found")
	_, err = trial.Compare(good, none, trial.Common{})
	require.ErrorIs(t, err, trial.ErrNoRate)
	assert.ErrorContains(t, err, "as left")

	other := result(4e-3, 2e-5, 0, 0)
	other.Sign = "pressure"
	_, err = trial.Compare(good, other, trial.Common{})
	require.ErrorIs(t, err, trial.ErrUnlike)
	assert.ErrorContains(t, err, "the sign differs: suction as found, pressure as left")
}

// TestRatiosHoldTheTruth simulates comparisons with a volume in common, down to a
// joint as left that is hardly to be told from tight.
func TestRatiosHoldTheTruth(t *testing.T) {
	// A bound from below, given where as left may be nothing, is wrong less often.
	for left, most := range map[float64]float64{1: 0.965, 0.1: 0.965, 0.02: 0.99} {
		const trials = 2000
		r := rand.New(rand.NewPCG(7, 7))
		held := 0
		for range trials {
			v := 1 + 0.05*r.NormFloat64()
			a, b := v*4+0.02*r.NormFloat64(), v*left+0.02*r.NormFloat64()
			c, err := trial.Compare(result(a, 0.02, 0.05*a, 0), result(b, 0.02, 0.05*b, 0), trial.SameBench())
			require.NoError(t, err)
			if c.Ratio.Low <= 4/left && (c.Ratio.High == nil || 4/left <= *c.Ratio.High) {
				held++
			}
		}
		share := float64(held) / trials
		assert.GreaterOrEqual(t, share, 0.935, "three standard errors of 0.5 %% below 95 %%; as left %g", left)
		assert.LessOrEqual(t, share, most, "as left %g", left)
	}
}
