package decay_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
)

func TestARadiusToldForTheDiameterIsToldAndDoesNoHarm(t *testing.T) {
	h, truth := found(t, scene(t, 12, 0.1))
	setup := told(truth)
	setup.Bore.Value /= 2
	r := decay.Fit(h, setup)
	require.NotNil(t, r.LeakRate, r.Notes)
	assert.True(t, noted(r, "warms as in a bore of about 14 mm, not of the 7 mm told"), r.Notes)
	assert.True(t, r.LeakRate.Low < truth.LeakRate && truth.LeakRate < r.LeakRate.High, "%+v has not %g", *r.LeakRate, truth.LeakRate)
	assert.False(t, r.Disturbed)

	right := decay.Fit(h, told(truth))
	assert.False(t, noted(right, "warms as in"), right.Notes)
}
