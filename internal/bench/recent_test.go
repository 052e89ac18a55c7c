package bench

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestRecentIsTheLastMinuteAndAHalf(t *testing.T) {
	t.Parallel()
	var r recent
	assert.Empty(t, r.latest(nil))
	for i := range 30_000 { // 300 s
		r.push([]Sample{{T: float64(i) / 100, Pressure: math.Sin(float64(i) / 70)}})
	}
	assert.LessOrEqual(t, len(r.samples), 10_127)
	got := r.latest([]Sample{{T: 300}})
	require.NotEmpty(t, got)
	assert.LessOrEqual(t, len(got), recentPoints)
	assert.IsIncreasing(t, times(got))
	assert.InDelta(t, 210, got[0].T, 0.2)
	assert.InDelta(t, 300, got[len(got)-1].T, 0.2)
	got[0].Pressure = 9
	assert.NotEqual(t, 9.0, r.latest(nil)[0].Pressure, "a copy")
}
