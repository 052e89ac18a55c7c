package trial_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"boretight/internal/decay"
	"boretight/internal/trial"
)

func sources(t trial.Trial) (names []string) {
	for _, l := range t.Budget {
		names = append(names, l.Source)
	}
	return names
}

func line(t *testing.T, in []trial.Line, source string) trial.Line {
	t.Helper()
	for _, l := range in {
		if l.Source == source {
			return l
		}
	}
	require.Failf(t, "no such line", "%s in %v", source, in)
	return trial.Line{}
}

// of makes a line of a budget.
func of(u, dof float64) trial.Line {
	return trial.Line{Contribution: decay.Contribution{U: u}, Dof: dof}
}

func TestEffectiveDegreesOfFreedomAreThoseOfTheGuide(t *testing.T) {
	for _, c := range []struct {
		name          string
		lines         []trial.Line
		u, dof, slack float64
	}{
		{"JCGM 100:2008, G.4.1: 0.25 %, 0.57 % and 0.82 % from 10, 5 and 15 readings",
			[]trial.Line{of(0.25, 9), of(0.57, 4), of(0.82, 14)}, 1.03, 19.0, 0.05},
		{"JCGM 100:2008, H.1: end gauge, in nm; 16.7 published",
			[]trial.Line{of(25, 18), of(9.7, 25.6), of(2.9, 50), of(16.6, 2)}, 31.7, 16.7, 0.1},
		{"H.1: the difference of the two gauges; 9.7 and 25.6 published, the latter from the rounded 9.7",
			[]trial.Line{of(5.8, 24), of(3.9, 5), of(6.7, 8)}, 9.7, 25.6, 0.2},
		{"40 CFR 1065.602(f): s 9.399 of 11 and 10.583 of 7",
			[]trial.Line{of(9.399/math.Sqrt(11), 10), of(10.583/math.Sqrt(7), 6)}, (1205.3 - 1123.8) / 16.63, 11.76, 0.005},
		{"NIST/SEMATECH e-Handbook 1.3.5.3: s 6.4147 of 249 and 6.10771 of 79",
			[]trial.Line{of(6.414700/math.Sqrt(249), 248), of(6.107710/math.Sqrt(79), 78)}, (30.48101 - 20.14458) / 12.94627, 136.875, 0.001},
	} {
		u, dof := trial.WelchSatterthwaite(c.lines)
		assert.InEpsilon(t, c.u, u, 0.005, c.name)
		assert.InDelta(t, c.dof, dof, c.slack, c.name)
	}
	_, dof := trial.WelchSatterthwaite([]trial.Line{of(1, 0), of(2, 0)})
	assert.True(t, math.IsInf(dof, 1), "many remain many")
}

func TestCoverageFactorsAreThoseOfTheGuide(t *testing.T) {
	// JCGM 100:2008, table G.2, 95 %.
	for dof, k := range map[float64]float64{1: 12.706, 2: 4.303, 5: 2.571, 9: 2.262, 16: 2.120, 19: 2.093, 30: 2.042, 100: 1.984, many: 1.960} {
		assert.InDelta(t, k, trial.Factor(dof, 0.975), 0.0006, "ν = %g", dof)
	}
	// H.1: 99 % with 16.7 degrees of freedom, truncated to 16; U = 93 nm from u = 32 nm.
	assert.InDelta(t, 93, trial.Factor(16, 0.995)*32, 0.6)
}

func TestBetweenIsWhatMakesTheScatterAsLargeAsChanceMakesIt(t *testing.T) {
	// The defining equation of Mandel and Paule (1970), with unequal statements.
	values, own := []float64{10.2, 9.1, 11.7, 10.4}, []float64{0.2, 0.4, 0.3, 0.9}
	between, weights, dof := trial.PoolOf(values, own, trial.Scatter{})
	require.Positive(t, between)
	assert.Equal(t, 3.0, dof)
	m := stat.Mean(values, weights)
	var sum, total float64
	for i, v := range values {
		sum += (v - m) * (v - m) / (own[i]*own[i] + between*between)
		total += weights[i]
	}
	assert.InDelta(t, 3, sum, 1e-6)
	assert.InDelta(t, 1, total, 1e-12)
	assert.Greater(t, weights[0], weights[3], "what is known better counts more")
}

func TestAKnownScatterCountsLikeThatManyResults(t *testing.T) {
	// Seen 0.5 with 2 degrees of freedom, known 0.2 with 10; no doubt of their own:
	// √((2·0.25 + 10·0.04)/12) = 0.27386.
	between, _, dof := trial.PoolOf([]float64{1, 1.5, 2}, []float64{0, 0, 0}, trial.Scatter{U: 0.2, Dof: 10})
	assert.InDelta(t, math.Sqrt(0.9/12), between, 1e-9)
	assert.Equal(t, 12.0, dof)

	between, _, dof = trial.PoolOf([]float64{1, 1.5, 2}, []float64{0, 0, 0}, trial.Scatter{U: 0.2, Dof: math.Inf(1)})
	assert.Equal(t, 0.2, between)
	assert.True(t, math.IsInf(dof, 1))
}

func TestResultsWithoutDoubtOrDifference(t *testing.T) {
	between, weights, dof := trial.PoolOf([]float64{3, 3}, []float64{0, 0}, trial.Scatter{})
	assert.Zero(t, between)
	assert.Equal(t, []float64{0.5, 0.5}, weights)
	assert.True(t, math.IsInf(dof, 1))
}

// TestIntervalsHoldTheTruth simulates trials. Bounds are what was measured with other
// seeds, less three standard errors of 2,000 trials.
func TestIntervalsHoldTheTruth(t *testing.T) {
	const truth, own, common, trials = 1.0, 0.01, 0.004, 2000
	for _, c := range []struct {
		name    string
		holds   int
		between float64
		known   trial.Scatter
		least   float64
	}{
		{"three holds, nothing between them", 3, 0, trial.Scatter{}, 0.935},
		{"three holds, as much between as each states", 3, 0.01, trial.Scatter{}, 0.92},
		{"three holds, twice as much", 3, 0.02, trial.Scatter{}, 0.915},
		{"five holds, five times as much", 5, 0.05, trial.Scatter{}, 0.935},
		{"two holds, five times as much", 2, 0.05, trial.Scatter{}, 0.865},
		{"two holds on a rig of known repeatability", 2, 0.03, trial.Scatter{U: 0.03, Dof: 20}, 0.935},
		{"one hold on a rig of known repeatability", 1, 0.03, trial.Scatter{U: 0.03, Dof: 20}, 0.935},
	} {
		r := rand.New(rand.NewPCG(4, uint64(c.holds)))
		held := 0
		for range trials {
			shared := common * r.NormFloat64()
			members := make([]trial.Member, c.holds)
			for i := range members {
				v := truth + shared + c.between*r.NormFloat64() + own*r.NormFloat64()
				members[i].Outcome = stated(v, own, common, many, 0)
			}
			result, err := trial.Pool(members, trial.Terms{Known: trial.Repeatability{Holds: c.known}})
			require.NoError(t, err)
			if result.LeakRate.Low <= truth && truth <= result.LeakRate.High {
				held++
			}
		}
		assert.GreaterOrEqual(t, float64(held)/trials, c.least, c.name)
	}
}

func TestRepeatabilityOfRigAndOfReplugging(t *testing.T) {
	// JCGM 100:2008, H.5.2: ten days of five readings each, daily means in µV above
	// 10 V and daily standard deviations in µV. Day is plugging, reading is hold.
	means := []float64{172, 116, 13, 144, 106, 31, 60, 125, 163, 41}
	deviations := []float64{60, 77, 111, 101, 67, 93, 80, 73, 88, 86}
	unit := []float64{-2, -1, 0, 1, 2} // variance 2.5
	var values, own []float64
	var day []int
	for j := range means {
		for _, x := range unit {
			values = append(values, means[j]+deviations[j]*x/math.Sqrt(2.5))
			own, day = append(own, 0), append(day, j+1)
		}
	}
	seen, lines := trial.LayersOf(values, own, day)
	assert.InDelta(t, 85, seen.Holds.U, 0.5, "within days")
	assert.Equal(t, 40.0, seen.Holds.Dof)
	assert.InDelta(t, 43, seen.Replugging.U, 0.5, "between days: √((57² − 85²/5)) ")
	assert.Equal(t, 9.0, seen.Replugging.Dof)
	u, dof := trial.WelchSatterthwaite(lines)
	assert.InDelta(t, 18, u, 0.1, "57/√10")
	assert.InDelta(t, 9, dof, 1e-6)
}

func TestStoppersLeftInAreToldAboutAndMarksTakeTheScatterApart(t *testing.T) {
	var members []trial.Member
	for i, v := range []float64{4.00e-3, 4.02e-3, 4.30e-3, 4.32e-3, 3.70e-3, 3.68e-3} {
		members = append(members, trial.Member{Outcome: stated(v, 5e-6, 2e-5, many, 0), Plugging: 1 + i/2})
	}
	result, err := trial.Pool(members, trial.Terms{})
	require.NoError(t, err)
	assert.Greater(t, result.Repeatability.Replugging.U, 10*result.Repeatability.Holds.U)
	assert.Contains(t, sources(result), "re-plugging")
	assert.Empty(t, result.Notes)

	apart := result.LeakRate.U
	for i := range members {
		members[i].Plugging = 0
	}
	result, err = trial.Pool(members, trial.Terms{})
	require.NoError(t, err)
	assert.Less(t, result.LeakRate.U, apart, "unmarked, six holds look like six independent ones")

	for i := range members {
		members[i].Plugging = 1
	}
	result, err = trial.Pool(members, trial.Terms{})
	require.NoError(t, err)
	assert.Contains(t, result.Notes[len(result.Notes)-1], "stoppers stayed in")
}
