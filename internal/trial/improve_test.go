package trial_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/trial"
)

func TestWhatToImproveFirst(t *testing.T) {
	o := trial.Outcome{Budget: []decay.Contribution{
		{Source: "noise", U: 3, URelative: 0.03}, {Source: "volume", U: 4, URelative: 0.04}, {Source: "law", U: 0},
	}}
	all := o.Improvements()
	require.Len(t, all, 2, "what adds nothing is not worked on")
	assert.Equal(t, "volume", all[0].Source)
	assert.InDelta(t, 0.64, all[0].Share, 1e-12) // 16/25
	assert.InDelta(t, 1-3.6056/5, all[0].Gain, 1e-4, "√(3² + 2²) instead of 5")
	assert.InDelta(t, 1-4.2720/5, all[1].Gain, 1e-4, "√(1.5² + 4²) instead of 5")
	assert.Contains(t, all[0].Do, "syringe")
	assert.Empty(t, trial.Outcome{}.Improvements())
}

func TestTheBudgetOfATrialIsThatOfItsMean(t *testing.T) {
	all := combine(three(1e-5, 2e-5), 0).Improvements()
	require.Len(t, all, 3)
	assert.Equal(t, "between holds", all[0].Source)
	assert.Equal(t, "volume", all[1].Source)
	sum := 0.0
	for _, i := range all {
		sum += i.Share
	}
	assert.InDelta(t, 1, sum, 1e-12)
}

func TestTheBudgetAsText(t *testing.T) {
	o := trial.Outcome{Budget: []decay.Contribution{
		{Source: "volume", U: 4, URelative: 0.04}, {Source: "temperature drift", U: 3, URelative: 0.03},
	}}
	want := `  source                    u  share of the variance            if halved
  volume                  4 %  ███████████████▌           64 %    u −28 %
  temperature drift       3 %  ████████▌                  36 %    u −15 %
  improve first: volume
    measure the volume by a syringe step or a reference leak
`
	assert.Equal(t, want, trial.BudgetText(o.Improvements()))
	assert.Empty(t, trial.BudgetText(nil))
}
