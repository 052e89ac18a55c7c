package trial_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/decay"
	"boretight/internal/hold"
	"boretight/internal/trial"
)

func estimate(v, u float64) decay.Estimate { return decay.Estimate{Value: v, U: u} }

// An estimate that becomes known better and better, looked at 400 times, of a leak on
// the wrong side of the limit by nothing at all: the hardest case. A wrong verdict ever
// may come with a probability of 0.05; of 4000, 5.9 % would be 2.6 standard deviations more.
func TestEarlyVerdictsAreRarelyWrongHoweverOftenTheyAreAskedFor(t *testing.T) {
	const paths, looks, limit = 4000, 400, 1.0
	random := rand.New(rand.NewPCG(1, 2))
	wrong := 0
	for range paths {
		// S, of variance I, is what has been learned; the estimate is limit + S/I.
		var s, before float64
		for k := range looks {
			// From 30 % of the limit to 1 %, evenly in the logarithm.
			u := 0.3 * math.Pow(1.0/30, float64(k)/(looks-1))
			information := 1 / (u * u)
			s += math.Sqrt(information-before) * random.NormFloat64()
			before = information
			if trial.Early(estimate(limit+s/information, u), limit) == trial.Pass {
				wrong++
				break
			}
		}
	}
	t.Logf("%.2f %% wrong", 100*float64(wrong)/paths)
	assert.LessOrEqual(t, float64(wrong)/paths, 0.059)
	assert.Positive(t, wrong, "a bound that is never reached would ask for too much")
}

func TestEarlyVerdicts(t *testing.T) {
	for _, c := range []struct {
		name string
		q    decay.Estimate
		want trial.Verdict
	}{
		{"far below, well known", estimate(0.5, 0.02), trial.Pass},
		{"far above, well known", estimate(2, 0.05), trial.Fail},
		{"at the limit", estimate(1, 0.02), trial.Inconclusive},
		{"enough for a finished hold, but not for one of many looks", estimate(0.9, 0.05), trial.Inconclusive},
		{"hardly known", estimate(0.1, 1), trial.Inconclusive},
		{"not a number", estimate(math.NaN(), 0.1), trial.Inconclusive},
		{"without an uncertainty", estimate(0.5, 0), trial.Inconclusive},
	} {
		assert.Equal(t, c.want, trial.Early(c.q, 1), c.name)
	}
	assert.Equal(t, trial.Inconclusive, trial.Early(estimate(0.5, 0.02), 0), "without a limit")
}

func TestJudgeLookAsksForMoreThanAFinishedHold(t *testing.T) {
	h, setup := &hold.Hold{}, decay.Result{At: 2500, Temperature: 293.15, Dof: math.Inf(1)}
	q := estimate(0.9, 0.05)
	setup.LeakRate = &q
	o := trial.JudgeLook(h, setup, 1)
	assert.Equal(t, trial.Inconclusive, o.Verdict, "two standard uncertainties do for one look only")
	assert.GreaterOrEqual(t, o.Decision.PConform, 0.95)
	assert.Equal(t, "a little more of the same hold", o.Decision.Next)
	assert.Contains(t, o.Decision.Rule, "however often")

	q = estimate(0.5, 0.05)
	assert.Equal(t, trial.Pass, trial.JudgeLook(h, setup, 1).Verdict)
	assert.Empty(t, trial.JudgeLook(h, setup, 0).Verdict, "without a limit")
}
