package plot_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"boretight/internal/plot"
)

func TestTicksAreRound(t *testing.T) {
	for name, c := range map[string]struct {
		low, high float64
		want      int
		ticks     []float64
	}{
		// The worked example of the authors' own implementation (package labeling
		// 0.4.3 for R, help page of the package): extended(8.1, 14.1, 4).
		"the published example":   {8.1, 14.1, 4, []float64{8, 10, 12, 14}},
		"a whole range":           {0, 100, 5, []float64{0, 20, 40, 60, 80, 100}},
		"tenths are exact":        {0, 0.4, 5, []float64{0, 0.1, 0.2, 0.3, 0.4}},
		"suction":                 {-2500, 0, 6, []float64{-2500, -2000, -1500, -1000, -500, 0}},
		"a leakage rate":          {2.4e-5, 2.83e-5, 5, []float64{2.4e-5, 2.5e-5, 2.6e-5, 2.7e-5, 2.8e-5}},
		"ends told the wrong way": {100, 0, 5, []float64{0, 20, 40, 60, 80, 100}},
		"one value":               {7, 7, 5, []float64{7}},
		"not a number":            {math.NaN(), 1, 5, nil},
		"without end":             {0, math.Inf(1), 5, nil},
		"farther than a float":    {-1.7e308, 1.7e308, 5, nil},
	} {
		t.Run(name, func(t *testing.T) {
			assert.Equal(t, c.ticks, plot.Ticks(c.low, c.high, c.want))
		})
	}
}

func TestTicksOfAnyRangeRiseEvenlyAndCoverIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(-1e9, 1e9).Draw(t, "low")
		span := math.Pow(10, rapid.Float64Range(-6, 9).Draw(t, "decades"))
		want := rapid.IntRange(2, 12).Draw(t, "want")
		ticks := plot.Ticks(low, low+span, want)
		if len(ticks) == 1 {
			require.Less(t, span, 1e-2, "one tick only where floats end")
			return
		}
		require.GreaterOrEqual(t, len(ticks), 2)
		require.LessOrEqual(t, len(ticks), 2*want)
		step := ticks[1] - ticks[0]
		require.Positive(t, step)
		for i := 1; i < len(ticks); i++ {
			require.True(t, near(ticks[i]-ticks[i-1], step), "step %g after %g", ticks[i]-ticks[i-1], step)
		}
		digit := step / math.Pow(10, math.Floor(math.Log10(step*1.01)))
		require.True(t, near(digit, 1) || near(digit, 2) || near(digit, 5), "step %g", step)
		require.Less(t, ticks[0], low+span)
		require.Greater(t, ticks[len(ticks)-1], low)
	})
}

// near is equal up to what a step of 1e-7 loses beside a value of 1e9.
func near(x, y float64) bool { return math.Abs(x-y) < 0.01*y }
