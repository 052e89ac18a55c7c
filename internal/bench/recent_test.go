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
	assert.Empty(t, r.latest())
	for i := range 30_000 { // 300 s
		r.push(Sample{T: float64(i) / 100, Pressure: math.Sin(float64(i) / 70)})
	}
	assert.LessOrEqual(t, len(r.samples), 13_502)
	got := r.latest()
	require.NotEmpty(t, got)
	assert.LessOrEqual(t, len(got), recentPoints)
	assert.IsIncreasing(t, times(got))
	assert.InDelta(t, 209.99, got[0].T, 0.2)
	assert.InDelta(t, 299.99, got[len(got)-1].T, 0.2)
	got[0].Pressure = 9
	assert.NotEqual(t, 9.0, r.latest()[0].Pressure, "a copy")
}
