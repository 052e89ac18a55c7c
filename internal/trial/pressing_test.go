package trial_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/trial"
)

func TestWhatPressesOnAHoldStandsBesideTheVerdictOfItsTrial(t *testing.T) {
	t.Parallel()
	const leaks, once = "The rig leaks more than the joint.", "A leak opened after 3 s."
	all := three(1.5e-4, 0)
	for i := range all {
		all[i].Press(leaks)
	}
	all[1].Press(once)
	c := combine(all, 5e-3)
	assert.Equal(t, trial.Pass, c.Verdict)
	assert.Equal(t, []string{"In each of the 3 holds: " + leaks, "In 1 of 3 holds: " + once}, c.Notes)

	c = combine(all[1:2], 5e-3)
	assert.Equal(t, []string{once, leaks}, c.Notes, "of a lone hold it is said as the hold says it")

	all[0].Notes, all[0].Pressing = []string{"The volume was taken as told."}, 0
	assert.Empty(t, combine(all[:1], 5e-3).Notes, "what was assumed does not press")
	all[0].Pressing = 7
	assert.Len(t, combine(all[:1], 5e-3).Notes, 1, "a record of another program may count wrongly")
}

// A knock is one hold's misfortune: the next has another one, or none.
func TestAKnockIsTheHoldsOwnAndIsAveraged(t *testing.T) {
	t.Parallel()
	var all []trial.Outcome
	for _, o := range three(0, 0) {
		o.LeakRate.Value, o.LeakRate.U = 4e-3, 1.5e-4
		o.Budget = []decay.Contribution{{Source: "knock", U: 1.5e-4}}
		all = append(all, o)
	}
	c := combine(all, 0)
	require.Len(t, c.Budget, 1)
	assert.False(t, c.Budget[0].Shared)
	assert.InDelta(t, 8.66e-5, c.LeakRate.U, 1e-7, "1.5e-4/√3")
}

func TestADecisionKeepsWhyItWasWithheld(t *testing.T) {
	t.Parallel()
	o := stated(3.5e-3, 1e-5, 0, many, 5e-3)
	o.Withhold("Check the rig: it drifted.")
	content, err := json.Marshal(o)
	require.NoError(t, err)
	var kept trial.Outcome
	require.NoError(t, json.Unmarshal(content, &kept))
	assert.Equal(t, "it drifted", kept.Decision.Withheld)
	again := stated(3.5e-3, 1e-5, 0, many, 5e-3)
	again.Withhold(kept.Decision.Withheld)
	assert.Equal(t, o.Decision, again.Decision, "told again, it says the same")
	kept.Decision.Withheld = ""
	assert.Equal(t, "it drifted", kept.Decision.WithheldBecause(), "as records of before have it")
	assert.Empty(t, stated(3.5e-3, 1e-5, 0, many, 3.5e-3).Decision.WithheldBecause())
}
