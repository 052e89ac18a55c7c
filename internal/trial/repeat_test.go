package trial_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/trial"
)

func TestWhatTrialsSawOfTheRigAddsUp(t *testing.T) {
	seen := []trial.Repeatability{
		{Holds: trial.Scatter{U: 1e-5, Dof: 2}, Replugging: trial.Scatter{U: 4e-5, Dof: 1}},
		{Holds: trial.Scatter{U: 4e-5, Dof: 4}},
		{Holds: trial.Scatter{U: 0, Dof: 2}},
		{}, // one hold told nothing
	}
	// √((2·1 + 4·16 + 2·0)/8) = √8.25.
	known := trial.KnownOf(seen)
	assert.InEpsilon(t, math.Sqrt(8.25)*1e-5, known.Holds.U, 1e-12)
	assert.Equal(t, 8.0, known.Holds.Dof)
	assert.Equal(t, trial.Scatter{U: 4e-5, Dof: 1}, known.Replugging)
	assert.Equal(t, trial.Repeatability{}, trial.KnownOf(nil))

	var many []trial.Repeatability
	for i := range 30 {
		r := trial.Repeatability{Holds: trial.Scatter{U: 1e-5, Dof: 1}}
		if i >= 20 {
			r.Holds.U = 1 // long ago
		}
		many = append(many, r)
	}
	assert.InEpsilon(t, 1e-5, trial.KnownOf(many).Holds.U, 1e-9)
	assert.Equal(t, 20.0, trial.KnownOf(many).Holds.Dof)
}

// What is known must not be told again as seen, or each trial would count those before it anew.
func TestATrialTellsOnlyWhatItSawItself(t *testing.T) {
	all := members()
	alone, err := trial.Pool(all, trial.Terms{})
	require.NoError(t, err)
	known, err := trial.Pool(all, trial.Terms{Known: trial.Repeatability{Holds: trial.Scatter{U: 3e-4, Dof: 40}}})
	require.NoError(t, err)
	assert.Equal(t, alone.Repeatability, known.Repeatability)
	assert.Greater(t, known.LeakRate.U, alone.LeakRate.U)
}

func TestAPluggingThatIsKnownToMatterCountsWhereThereWasOnlyOne(t *testing.T) {
	all := members()
	for i := range all {
		all[i].Plugging = 1
	}
	result, err := trial.Pool(all, trial.Terms{Known: trial.Repeatability{Replugging: trial.Scatter{U: 2e-4, Dof: 9}}})
	require.NoError(t, err)
	replug := line(t, result.Budget, "re-plugging")
	assert.InEpsilon(t, 2e-4, replug.U, 1e-9, "not averaged: the stoppers stayed in")
	assert.Equal(t, 9.0, replug.Dof)
	assert.Empty(t, result.Notes)
}
