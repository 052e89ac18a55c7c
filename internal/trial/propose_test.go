package trial_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/quantity"
	"boretight/internal/trial"
)

func TestToleranceFactorsAreThePublishedOnes(t *testing.T) {
	// ISO 16269-6 and its forerunners' tables: one-sided, 95 % of the population.
	for n, k := range map[int]float64{3: 7.656, 4: 5.144, 5: 4.203, 6: 3.708, 8: 3.187, 10: 2.911, 15: 2.566, 20: 2.396, 30: 2.220} {
		assert.InEpsilon(t, k, trial.ToleranceFactor(n, 0.95, 0.95), 0.0003, "n = %d", n)
	}
	assert.InEpsilon(t, 2.355, trial.ToleranceFactor(10, 0.90, 0.95), 0.0003)
	// NIST/SEMATECH e-Handbook 7.2.6.3: 43 wafers, 90 % of them, 99 % confidence; 1.8740
	// by the noncentral t distribution (1.8752 by the approximation given beside it).
	assert.InEpsilon(t, 1.8740, trial.ToleranceFactor(43, 0.90, 0.99), 0.0003)
}

func TestToleranceRanksAreWilkss(t *testing.T) {
	// Wilks (1941): the largest of so many values serves first.
	for _, c := range []struct {
		n                 int
		share, confidence float64
		rank              int
	}{
		{58, 0.95, 0.95, 0}, {59, 0.95, 0.95, 59}, {92, 0.95, 0.95, 92}, {93, 0.95, 0.95, 92},
		{28, 0.90, 0.95, 0}, {29, 0.90, 0.95, 29}, {45, 0.90, 0.95, 45}, {46, 0.90, 0.95, 45},
		{21, 0.90, 0.90, 0}, {22, 0.90, 0.90, 22},
	} {
		assert.Equal(t, c.rank, trial.ToleranceRank(c.n, c.share, c.confidence), "%+v", c)
	}
}

// joints are n passed joints, log-normal about a median of 1e-3.
func joints(r *rand.Rand, n int) (all []trial.PassedJoint) {
	for i := range n {
		all = append(all, trial.PassedJoint{Name: fmt.Sprint("T", i+1), LeakRate: 1e-3 * math.Exp(0.5*r.NormFloat64()), U: 2e-5})
	}
	return all
}

func TestProposalsKeepTheirPromise(t *testing.T) {
	ninety := 1e-3 * math.Exp(0.5*1.2815516) // 90 % of all such joints leak less
	for _, n := range []int{10, 28, 29, 60} {
		const trials = 400
		r := rand.New(rand.NewPCG(1, uint64(n)))
		above := 0
		for range trials {
			p, err := trial.Propose(joints(r, n))
			require.NoError(t, err)
			if p.Limit >= ninety {
				above++
			}
		}
		assert.GreaterOrEqual(t, float64(above)/trials, 0.95-3*0.011, "n = %d", n)
	}
}

func TestAProposalSaysWhatItIs(t *testing.T) {
	all := joints(rand.New(rand.NewPCG(2, 2)), 12)
	p, err := trial.Propose(all)
	require.NoError(t, err)
	assert.Equal(t, "boretight/limit/1", p.Schema)
	assert.Contains(t, p.Sentence, "is a proposal from 12 joints that this shop passed")
	assert.Contains(t, p.Sentence, "no published limit")
	assert.Contains(t, p.Method, "ISO 16269-6")
	assert.Empty(t, p.Far)
	require.Len(t, p.Notes, 1)
	assert.InEpsilon(t, p.Limit/(1.68875e-3*293.15/273.15), p.InSCCM(quantity.FromCelsius(20)), 1e-9)

	all[3].LeakRate, all[4].LeakRate = 0.1, -1e-5
	p, err = trial.Propose(all)
	require.NoError(t, err)
	assert.Equal(t, []string{"T4"}, p.Far)
	assert.Contains(t, p.Notes[0], "Far above the others: T4")
	assert.Contains(t, p.Notes[1], "1 of 12 leak less than their standard uncertainty")

	p, err = trial.Propose(slices.Repeat([]trial.PassedJoint{{LeakRate: 1e-6, U: 2e-5}}, 12))
	require.NoError(t, err)
	assert.Equal(t, 2e-5, p.Limit, "what cannot be measured does not pull the limit down")

	p, err = trial.Propose(joints(rand.New(rand.NewPCG(3, 3)), 46))
	require.NoError(t, err)
	assert.Contains(t, p.Method, "value 45 of 46")
}

func TestProposalsThatCannotBe(t *testing.T) {
	_, err := trial.Propose(joints(rand.New(rand.NewPCG(2, 2)), 9))
	require.ErrorIs(t, err, trial.ErrTooFew)
	assert.EqualError(t, err, "propose limit from 9 passed joints: too few joints: at least 10 are needed; measure more, or set a limit by judgement")

	for _, bad := range []trial.PassedJoint{{LeakRate: math.NaN(), U: 1}, {LeakRate: 1, U: -1}, {LeakRate: 0, U: 0}, {LeakRate: math.Inf(1), U: 1}} {
		all := joints(rand.New(rand.NewPCG(2, 2)), 12)
		bad.Name = "T99"
		_, err := trial.Propose(append(all, bad))
		assert.ErrorContains(t, err, "joint T99")
	}
}
