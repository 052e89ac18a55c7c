package bench

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/trial"
)

func TestAChangeOfTheRigIsSaidInWords(t *testing.T) {
	const rig = "gauge HX-1, hose clear, calibration 019f, blank 01aa"
	for _, c := range []struct{ now, says string }{
		{"gauge HX-1, hose clear, calibration 01bb, blank 01aa", "the gauge was calibrated in between"},
		{"gauge HX-1, hose clear, calibration 019f, blank 01cc", "a blank was measured in between"},
		{"gauge HX-1, hose new, calibration 019f", "another hose was used and the blank of before no longer counts"},
		{rig, ""},
	} {
		assert.Equal(t, c.says, unlikeRig(trial.Member{Rig: rig}, trial.Member{Rig: c.now}))
	}
	other := trial.Member{Rig: "gauge HX-1", Closure: "all"}
	assert.Empty(t, unlikeRig(trial.Member{Rig: rig}, other), "the closure differs too, and is said by its name")
}
