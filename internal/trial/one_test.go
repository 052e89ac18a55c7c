package trial_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/trial"
)

func TestATrialOfOneHoldSaysWhyItIsLessSureThanTheHold(t *testing.T) {
	const says = "Earlier trials on this rig make the uncertainty of this one 5.1 times that of the hold itself (± 0.28 sccm in place of ± 0.055 sccm, k = 2): their holds differed from one to the next by more than each states."
	hold := trial.Member{Outcome: stated(4e-3, 3e-5, 4e-5, many, 0)} // u 5e-5
	notes := func(known float64, members ...trial.Member) []string {
		result, err := trial.Pool(members, trial.Terms{Known: trial.Repeatability{Holds: trial.Scatter{U: known, Dof: 1e5}}})
		require.NoError(t, err)
		return result.Notes
	}
	assert.Equal(t, []string{says}, notes(2.5e-4, hold), "√(2.5² + 0.5²) over 0.5 is 5.1")
	assert.Empty(t, notes(0.9e-5, hold), "1.6 % more is not worth a word")
	assert.Empty(t, notes(0, hold))
	assert.NotContains(t, notes(2.5e-4, hold, hold, hold), says)
}
