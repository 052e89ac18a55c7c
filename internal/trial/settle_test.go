package trial_test

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/trial"
)

func TestALongerHoldHelpsAsTheBoundSays(t *testing.T) {
	// Cramér–Rao bound of a decay's rate, the zero known, from the Fisher information
	// summed reading by reading instead of by its closed form.
	for x, f := range map[float64]float64{0.05: 318, 0.2: 42.8, 0.5: 12.6, 1: 5.79, 2: 3.42, 4: 2.86} {
		assert.InEpsilon(t, f, trial.Knowledge(x), 0.005, "kT = %g", x)
		const n = 20_000
		var s0, s1, s2 float64
		for i := range n {
			at := x * (float64(i) + 0.5) / n
			w := math.Exp(-2*at) * x / n
			s0, s1, s2 = s0+w, s1+w*at, s2+w*at*at
		}
		assert.InEpsilon(t, math.Sqrt(s0/(s0*s2-s1*s1)), trial.Knowledge(x), 1e-4, "kT = %g", x)
	}
	assert.InEpsilon(t, math.Sqrt(8), trial.Knowledge(50), 1e-9, "no hold is better than an endless one")
	assert.InEpsilon(t, math.Sqrt(12/1e-12), trial.Knowledge(1e-4), 1e-3, "a short one gains with T^1.5")
	assert.InEpsilon(t, trial.Knowledge(0.00100001), trial.Knowledge(0.00099999), 2e-3, "and the two meet")
}

// heldFor is an undecided outcome of a hold of some length, in s.
func heldFor(seconds, tau, noise, volume float64, limit trial.Limit) trial.Outcome {
	o := stated(3e-3, noise, volume, many, 0)
	o.Hold = &trial.Extent{Start: 2, End: 2 + seconds}
	o.TimeConstant = &trial.Value{Value: tau}
	return trial.Decided(o, limit)
}

func TestSecondsAreNamedAndSettleIt(t *testing.T) {
	limit := trial.Limit(3.1e-3)
	o := heldFor(5, 20, 1e-4, 1e-5, limit)
	assert.Equal(t, trial.Inconclusive, o.Verdict)
	found := regexp.MustCompile(`^2 more holds of the same length, or hold (\d+) s longer$`).FindStringSubmatch(o.Decision.Next)
	require.NotNil(t, found, o.Decision.Next)
	more, err := strconv.ParseFloat(found[1], 64)
	require.NoError(t, err)

	// A hold so much longer has so much less noise, and is decided; one a second shorter not.
	for seconds, want := range map[float64]trial.Verdict{more: trial.Pass, more - 1.1: trial.Inconclusive} {
		noise := 1e-4 * trial.Knowledge((5+seconds)/20) / trial.Knowledge(5.0/20)
		assert.Equal(t, want, heldFor(5+seconds, 20, noise, 1e-5, limit).Verdict, "%g s longer", seconds)
	}
}

func TestWhatDecidesIsNamed(t *testing.T) {
	for _, c := range []struct {
		name string
		o    trial.Outcome
		next string
	}{
		{"no time constant, no seconds", trial.Decided(stated(3e-3, 1e-4, 1e-5, many, 0), 3.1e-3), "2 more holds of the same length"},
		{"a hold that is long already gains nothing by more of it", heldFor(80, 20, 1e-4, 1e-5, 3.1e-3), "2 more holds of the same length"},
		{"the volume decides", heldFor(5, 20, 1e-5, 1e-4, 3.1e-3),
			"more holds will not help: the uncertainty of the volume decides (3.3 % of the leakage rate); measure the volume by a syringe step or a reference leak, to 2 % or better"},
		{"the volume decides, but is not all", heldFor(5, 20, 7e-5, 1e-4, 3.1e-3),
			"more holds will not help: the uncertainty of the volume decides (3.3 % of the leakage rate); measure the volume by a syringe step or a reference leak; that alone may not be enough, so near to the limit"},
	} {
		assert.Equal(t, trial.Inconclusive, c.o.Verdict, c.name)
		assert.Equal(t, c.next, c.o.Decision.Next, c.name)
	}
}

func TestMoreHoldsThatAreAdvisedSettleIt(t *testing.T) {
	// Holds go on as they began: the same mean, the same scatter about it.
	for _, scatter := range []float64{0, 2e-4, 3e-4} {
		series := func(n int) (all []trial.Outcome) {
			for i := range n {
				// ±1 in turn, scaled to a standard deviation of scatter whatever n.
				x := float64(2*(i%2) - 1)
				if n%2 == 1 && i == n-1 {
					x = 0
				}
				v := 3e-3 + scatter*x*math.Sqrt(float64(n-1)/float64(n-n%2))
				all = append(all, stated(v, 1e-4, 1e-5, many, 0))
			}
			return all
		}
		limit := trial.Limit(3.06e-3 + trial.Limit(scatter)/4)
		first := combine(series(3), limit)
		require.Equal(t, trial.Inconclusive, first.Verdict, "scatter %g", scatter)
		var more int
		_, err := fmt.Sscanf(first.Decision.Next, "%d more", &more)
		require.NoError(t, err, first.Decision.Next)
		assert.Equal(t, trial.Pass, combine(series(3+more), limit).Verdict, "%d more, scatter %g", more, scatter)
		if more > 1 {
			assert.Equal(t, trial.Inconclusive, combine(series(2+more), limit).Verdict, "%d more, scatter %g", more-1, scatter)
		}
	}
}

func TestGuardBandsAreThePublishedOnes(t *testing.T) {
	// JCGM 106:2012, 8.3.2, guard band w = r·U with U = 2u: r 0.82 for 95 %, and so on.
	for p, r := range map[float64]float64{0.80: 0.421, 0.90: 0.641, 0.95: 0.822, 0.975: 0.980, 0.99: 1.163, 0.999: 1.545} {
		q := decay.Estimate{Value: 10 - 2*r*0.5, U: 0.5}
		assert.InDelta(t, p, trial.Conformity(q, many, 10), 0.0006, "r = %g", r)
	}
	// JCGM 106:2012, 7.4: limits 12.5 and 16.3, estimate 13.6, u 1.8: 0.933 − 0.271 = 0.66.
	q := decay.Estimate{Value: 13.6, U: 1.8}
	assert.InDelta(t, 0.933, trial.Conformity(q, many, 16.3), 0.0006)
	assert.InDelta(t, 0.271, trial.Conformity(q, many, 12.5), 0.0006)
	// JCGM 106:2012, 8.3.3: limit 100, u 2 % of the value, at most 0.1 % of rejections wrong: reject from 107.
	assert.Less(t, trial.Conformity(decay.Estimate{Value: 107, U: 2.14}, many, 100), 0.001)
	assert.Greater(t, trial.Conformity(decay.Estimate{Value: 106, U: 2.12}, many, 100), 0.001)
	// ILAC-G8:09/2019, table 1: without a guard band the risk is below 50 %, with w = U below 2.5 %.
	assert.InDelta(t, 0.5, trial.Conformity(decay.Estimate{Value: 10, U: 1}, many, 10), 1e-12)
	assert.Less(t, 1-trial.Conformity(decay.Estimate{Value: 8, U: 1}, many, 10), 0.025)
}
