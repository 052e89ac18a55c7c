package rig_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/rig"
)

func TestAPairThatStandsFarFromTheOthersIsNamed(t *testing.T) {
	t.Parallel()
	pairs := func(off ...float64) (all []rig.Pair) {
		for i, o := range off {
			reference := 490 * float64(i)
			all = append(all, rig.Pair{Reference: reference, Reading: reference + o})
		}
		return all
	}
	for name, c := range map[string]struct {
		off   []float64
		index int
		found bool
	}{
		"two pairs say nothing":          {off: []float64{0, 300}},
		"three that fit":                 {off: []float64{3, 16, 9}},
		"the last of three":              {off: []float64{3, 16, -271}, index: 2, found: true},
		"one in the middle of many":      {off: []float64{3, 8, -271, 12, 16, 20}, index: 2, found: true},
		"a gauge whose span is 5 % off":  {off: []float64{0, 24.5, 49, 73.5, 98}},
		"a gauge that scatters all over": {off: []float64{-60, 50, -70, 60, -40, 80}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			index, _, found := rig.Stray(pairs(c.off...))
			require.Equal(t, c.found, found)
			if found {
				assert.Equal(t, c.index, index)
			}
		})
	}
}

// 2 % is what counts without any calibration.
func TestACalibrationWorseThanNoneIsRefused(t *testing.T) {
	t.Parallel()
	_, err := rig.Calibrate(rig.Gauge{}, []rig.Pair{
		{Reference: 0, Reading: 3}, {Reference: 490, Reading: 506}, {Reference: 1765, Reading: 1494},
	})
	refusal, ok := err.(*rig.Refusal)
	require.True(t, ok, "%v", err)
	assert.Contains(t, refusal.Found, "worse than the 2 %")
	assert.Contains(t, refusal.Hint, "pair 3")
}
