package trial_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/trial"
)

// combine pools outcomes of which nothing more is told.
func combine(outcomes []trial.Outcome, limit trial.Limit) trial.Trial {
	members := make([]trial.Member, len(outcomes))
	for i, o := range outcomes {
		members[i].Outcome = o
	}
	t, err := trial.Pool(members, trial.Terms{Limit: limit})
	if err != nil {
		panic(err)
	}
	return t
}

// three are holds of 3.9, 4.0 and 4.1 mPa·m³/s: their mean is 4.0, their variance
// (0.1 m)² = 1e-8, that of the mean 1e-8/3 = 3.333e-9.
func three(own, common float64) []trial.Outcome {
	var all []trial.Outcome
	for _, v := range []float64{4.1e-3, 3.9e-3, 4.0e-3} {
		all = append(all, stated(v, own, common, many, 0))
	}
	return all
}

func TestWhatVariesIsAveragedAndWhatIsCommonIsNot(t *testing.T) {
	c := combine(three(1.5e-4, 4e-5), 0)
	assert.Equal(t, "boretight/trial/1", c.Schema)
	assert.Equal(t, 3, c.Holds)
	assert.Equal(t, 3, c.Used)
	require.NotNil(t, c.LeakRate)
	assert.InDelta(t, 4e-3, c.LeakRate.Value, 1e-12)
	// Stated (1.5e-4)²/3 = 7.5e-9, more than seen; with (4e-5)² = 1.6e-9: √9.1e-9.
	assert.InEpsilon(t, 9.5394e-5, c.LeakRate.U, 1e-4)
	assert.InEpsilon(t, 4e-3+1.95996*9.5394e-5, c.LeakRate.High, 1e-6)
	assert.InEpsilon(t, 4e-3-1.95996*9.5394e-5, c.LeakRate.Low, 1e-6)
	assert.Equal(t, "Pa·m³/s", c.LeakRate.Unit)
	assert.Empty(t, c.Notes)
	assert.Empty(t, c.Verdict)
	assert.Nil(t, c.Decision)

	only := combine(three(1.5e-4, 1e-3), 0)
	assert.Greater(t, only.LeakRate.U, 1e-3, "no number of holds makes a volume better known")
}

func TestScatterBeyondWhatHoldsStateCounts(t *testing.T) {
	// Stated (1e-5)²/3 = 3.3e-11 against 3.333e-9 seen.
	c := combine(three(1e-5, 0), 0)
	assert.InEpsilon(t, 5.7735e-5, c.LeakRate.U, 1e-4)
	// t with 2 degrees of freedom: 4.303 (JCGM 100:2008, table G.2).
	assert.InDelta(t, 4e-3+4.303*5.7735e-5, c.LeakRate.High, 1e-7)
	assert.InDelta(t, 4e-3-4.303*5.7735e-5, c.LeakRate.Low, 1e-7)
	assert.InDelta(t, 2, c.Dof, 1e-6)

	// With (4e-5)² = 1.6e-9 in common: √4.933e-9 = 7.0238e-5.
	c = combine(three(1e-5, 4e-5), 0)
	assert.InEpsilon(t, 7.0238e-5, c.LeakRate.U, 1e-4)
	// Welch–Satterthwaite: 2·(4.933/3.333)² = 4.381.
	assert.InDelta(t, 4.381, c.Dof, 1e-3)
	k := (c.LeakRate.High - c.LeakRate.Value) / c.LeakRate.U
	assert.Greater(t, k, 2.571, "t of 5 degrees of freedom (JCGM 100:2008, table G.2)")
	assert.Less(t, k, 2.776, "t of 4")

	// Just beyond: 1e-8 seen, (8e-5)² = 6.4e-9 stated, so 3.6e-9 between.
	c = combine(three(8e-5, 0), 0)
	assert.InEpsilon(t, 5.7735e-5, c.LeakRate.U, 1e-4)
	assert.InDelta(t, 6e-5, c.Repeatability.Holds.U, 1e-10)
	assert.Equal(t, 2.0, c.Repeatability.Holds.Dof)
}

func TestScatterWithinWhatHoldsStateChangesNothing(t *testing.T) {
	c := combine(three(1.01e-4, 0), 0)
	assert.InEpsilon(t, 1.01e-4/math.Sqrt(3), c.LeakRate.U, 1e-9)
	assert.Zero(t, c.Dof)
	assert.Zero(t, c.Repeatability.Holds.U)
	assert.NotContains(t, sources(c), "between holds")
}

func TestOneHoldIsTheSameAsItself(t *testing.T) {
	for _, dof := range []float64{4, many} {
		for _, limit := range []trial.Limit{0, 3.19e-3, 2.5e-3, 4e-3} {
			o := stated(3e-3, 1e-4, 2e-5, dof, limit)
			c := combine([]trial.Outcome{o}, limit)
			assert.Equal(t, o.LeakRate, c.LeakRate)
			assert.InEpsilon(t, o.SCCM.Value, c.SCCM.Value, 1e-9)
			assert.InEpsilon(t, o.SCCM.U, c.SCCM.U, 1e-9)
			assert.InEpsilon(t, o.SCCM.High, c.SCCM.High, 1e-9)
			assert.Equal(t, o.Verdict, c.Verdict)
			if limit > 0 {
				assert.Equal(t, o.Decision.PConform, c.Decision.PConform)
				assert.Equal(t, o.Decision.Next, c.Decision.Next)
				assert.InEpsilon(t, o.Decision.LimitSCCM, c.Decision.LimitSCCM, 1e-9)
			}
		}
	}
}

func TestRefusedHoldsAreCountedAndTold(t *testing.T) {
	all := three(1.5e-4, 0)
	all[0].LeakRate, all[0].SCCM = nil, nil
	c := combine(all, 5e-3)
	assert.Equal(t, 3, c.Holds)
	assert.Equal(t, 2, c.Used)
	assert.InDelta(t, 3.95e-3, c.LeakRate.Value, 1e-12)
	assert.Equal(t, []string{"1 of 3 holds gave no leakage rate that could be combined."}, c.Notes)
	assert.Equal(t, trial.Pass, c.Verdict)
}

func TestWithoutAnyLeakageRateNothingIsDecided(t *testing.T) {
	all := three(1.5e-4, 0)
	for i := range all {
		all[i].LeakRate, all[i].SCCM = nil, nil
	}
	c := combine(all, 5e-3)
	assert.Zero(t, c.Used)
	assert.Nil(t, c.LeakRate)
	assert.Equal(t, trial.Inconclusive, c.Verdict)
	assert.Equal(t, 0.5, c.Decision.PConform)
	assert.NotEmpty(t, c.Decision.Next)

	for i := range all {
		all[i].Decision = nil
	}
	m := object(t, combine(all, 0))
	assert.Contains(t, m, "leak_rate")
	assert.Nil(t, m["leak_rate"])
	assert.Equal(t, 3.0, m["holds"])
	assert.NotContains(t, m, "verdict")
	assert.NotContains(t, m, "decision")
}

func TestSeveralHoldsDecideWhatOneCannot(t *testing.T) {
	// One hold: 1.2e-4 below the limit is 1.2 u. Three that agree: u = 1e-4/√3 = 5.8e-5, 2.1 u.
	limit := trial.Limit(3.12e-3)
	o := stated(3e-3, 1e-4, 0, many, limit)
	assert.Equal(t, trial.Inconclusive, o.Verdict)
	assert.Equal(t, "1 more hold of the same length", o.Decision.Next)
	c := combine([]trial.Outcome{o, o}, limit)
	assert.Equal(t, trial.Pass, c.Verdict, "the advice is kept")
	assert.InDelta(t, 0.9552, c.Decision.PConform, 1e-3) // Φ(1.2·√2) = Φ(1.697)
	assert.Equal(t, trial.Pass, combine([]trial.Outcome{o, o, o}, limit).Verdict)
}

func TestAHoldThatWasCutIsTold(t *testing.T) {
	all := three(1.5e-4, 0)
	all[1].ID, all[1].Hold = "7f", &trial.Extent{Ending: "cut"}
	c := combine(all, 5e-3)
	assert.Equal(t, 3, c.Used, "it counts for what it shows")
	assert.Equal(t, []string{"Cut short, since the readings ended in mid-hold: hold 7f."}, c.Notes)
}

func TestARigOutOfControlJudgesNothing(t *testing.T) {
	var members []trial.Member
	for _, o := range three(1e-5, 0) {
		members = append(members, trial.Member{Outcome: o})
	}
	for _, limit := range []trial.Limit{5e-3, 3e-3, 4e-3} {
		c, err := trial.Pool(members, trial.Terms{Limit: limit, CheckRig: "it drifted."})
		require.NoError(t, err)
		assert.Equal(t, trial.Inconclusive, c.Verdict)
		assert.Equal(t, "check the rig before any joint is judged: it drifted", c.Decision.Next)

		o := stated(3.5e-3, 1e-5, 0, many, limit)
		before := *o.Decision
		printed := o
		o.Withhold("it drifted.")
		assert.Equal(t, trial.Inconclusive, o.Verdict)
		assert.Equal(t, c.Decision.Next, o.Decision.Next)
		assert.Equal(t, before, *printed.Decision, "what was given to others is not changed")
	}
	o := stated(3.5e-3, 1e-5, 0, many, 5e-3)
	o.Withhold("")
	assert.Equal(t, trial.Pass, o.Verdict)
	o = stated(3.5e-3, 1e-5, 0, many, 0)
	o.Withhold("it drifted.")
	assert.Equal(t, trial.None, o.Verdict)
}

// A limit in sccm is a throughput at the temperature of the hold that was judged last.
func TestALimitInSCCMIsThatOfTheLastHold(t *testing.T) {
	all := three(1e-5, 0)
	all[0].Temperature, all[1].Temperature, all[2].Temperature = 293, 294, 295.15
	c := combine(all, trial.Limit(2.5*1.68875e-3*295.15/273.15))
	assert.Equal(t, 2.5, c.Decision.LimitSCCM)
}
