package trial_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/trial"
)

// pooledOf pools holds of a joint, each in sccm with its expanded uncertainty, of which half the
// variance is the hold's own.
func pooledOf(t *testing.T, earlier []trial.Trial, limit float64, holds ...[2]float64) trial.Trial {
	t.Helper()
	one := decay.SCCM(1, 293.15)
	members := make([]trial.Member, len(holds))
	for i, h := range holds {
		u := h[1] / 2 / one / 1.4142
		members[i].Outcome = stated(h[0]/one, u, u, many, 0)
	}
	known := trial.KnownOf(trial.Telling(earlier))
	result, err := trial.Pool(members, trial.Terms{Limit: trial.Limit(limit / one), Known: known})
	require.NoError(t, err)
	return result
}

func TestATrialInWhichTheJointChangedTellsNothingOfTheRig(t *testing.T) {
	// A joint mended in mid-trial: 36 % between its holds.
	changed := pooledOf(t, nil, 2.5, [2]float64{3.60, 0.11}, [2]float64{2.50, 0.08}, [2]float64{1.80, 0.07})
	require.Greater(t, changed.Repeatability.Holds.U, 0.3*changed.LeakRate.Value)
	assert.Empty(t, trial.Telling([]trial.Trial{changed}))

	three := pooledOf(t, []trial.Trial{changed}, 2.5, [2]float64{3.552, 0.08}, [2]float64{3.551, 0.08}, [2]float64{3.550, 0.08})
	assert.Less(t, 2*three.SCCM.U, 0.08)
	assert.Equal(t, trial.Fail, three.Verdict)

	two := pooledOf(t, []trial.Trial{changed}, 2.5, [2]float64{3.60, 0.11}, [2]float64{3.62, 0.10})
	assert.Less(t, 2*two.SCCM.U, 0.11)
	assert.Equal(t, trial.Fail, two.Verdict, "both its holds fail")
}

func TestOneTrialDoesNotOutweighManyThatAgree(t *testing.T) {
	calm := pooledOf(t, nil, 0, [2]float64{3.55, 0.08}, [2]float64{3.60, 0.08}, [2]float64{3.52, 0.08})
	loud := pooledOf(t, nil, 0, [2]float64{3.55, 0.08}, [2]float64{3.05, 0.08}, [2]float64{4.05, 0.08})
	require.Greater(t, loud.Repeatability.Holds.U, 0.1*loud.LeakRate.Value)
	all := []trial.Trial{loud, calm, calm, calm, calm}
	assert.Len(t, trial.Telling(all), 4)
	// What most trials do is how the rig repeats, however badly.
	assert.Len(t, trial.Telling([]trial.Trial{loud, loud, loud, loud, calm}), 5)
}

func TestATrialWithAnOutlierTellsNothingOfTheRig(t *testing.T) {
	calm := pooledOf(t, nil, 0, [2]float64{3.55, 0.08}, [2]float64{3.60, 0.08}, [2]float64{3.52, 0.08})
	odd := calm
	odd.Outliers = []trial.Outlier{{Place: 2}}
	assert.Len(t, trial.Telling([]trial.Trial{calm, odd}), 1)
}

func TestAResultSaysThatEarlierTrialsWidenIt(t *testing.T) {
	loud := pooledOf(t, nil, 0, [2]float64{3.4, 0.08}, [2]float64{3.7, 0.08}, [2]float64{3.5, 0.08})
	two := pooledOf(t, []trial.Trial{loud}, 0, [2]float64{3.55, 0.08}, [2]float64{3.56, 0.08})
	require.NotEmpty(t, two.Notes)
	assert.Regexp(t, `^Earlier trials on this rig make the uncertainty of this one [\d.]+ times that of its own 2 holds`, two.Notes[0])
	assert.Contains(t, two.Notes[0], "in place of ± 0.069 sccm")
	alone := pooledOf(t, nil, 0, [2]float64{3.55, 0.08}, [2]float64{3.56, 0.08})
	assert.Empty(t, alone.Notes)
	assert.Greater(t, two.LeakRate.U, alone.LeakRate.U)
}
