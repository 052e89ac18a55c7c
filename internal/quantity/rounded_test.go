package quantity_test

import (
	"fmt"
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"boretight/internal/quantity"
)

func TestRoundedKeepsTwoDigitsOfTheUncertainty(t *testing.T) {
	for _, c := range []struct {
		value, u float64
		want     string
	}{
		{2.1649, 0.0223, "2.165 ± 0.022"},
		{21.7, 0.02, "21.700 ± 0.020"},
		{13.6, 0.0996, "13.60 ± 0.10"},
		{13.6, 9.96, "14 ± 10"},
		{0.049, 0.04, "0.049 ± 0.040"},
		{-0.0004, 0.04, "0.000 ± 0.040"},
		{-1.2, 0.4, "-1.20 ± 0.40"},
		{0, 12, "0 ± 12"},
		{46123, 12345, "46000 ± 12000"},
		{2710.4, 133, "2710 ± 130"},
		{3.94e-3, 4e-5, "3.940e-3 ± 0.040e-3"},
		{9.9999e-3, 4.4e-4, "10.00e-3 ± 0.44e-3"},
		{2e-6, 4e-3, "0.0e-3 ± 4.0e-3"},
		{3.6e8, 1.2e6, "3.600e8 ± 0.012e8"},
		{2.5, 0, "2.5 ± 0"},
		{1.0 / 3, math.NaN(), "0.333333 ± unknown"},
		{1.0 / 3, math.Inf(1), "0.333333 ± unknown"},
		{1.0 / 3, -1, "0.333333 ± unknown"},
		{math.NaN(), 1, "unknown ± unknown"},
		{math.Inf(-1), 1, "unknown ± unknown"},
	} {
		value, u := quantity.Rounded(c.value, c.u)
		assert.Equal(t, c.want, fmt.Sprintf("%s ± %s", value, u))
	}
}

// Published as such: GUM (JCGM 100:2008) 7.2.2, m_S = 100.021 47 g with u = 0.35 mg,
// and H.3.2, the intercept -0.1712 °C with u = 0.0029 °C.
func TestRoundedPrintsTheGUMsExamples(t *testing.T) {
	value, u := quantity.Rounded(100.02147, 0.00035)
	assert.Equal(t, "100.02147", value)
	assert.Equal(t, "0.00035", u)
	value, u = quantity.Rounded(-0.1712037901, 0.0028776)
	assert.Equal(t, "-0.1712", value)
	assert.Equal(t, "0.0029", u)
}

func TestRoundedNeverMovesTheValueByMoreThanHalfItsLastPlace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e9, 1e9).Draw(t, "value")
		u := rapid.Float64Range(1e-9, 1e9).Draw(t, "u")
		valueText, uText := quantity.Rounded(x, u)
		value, err := strconv.ParseFloat(valueText, 64)
		require.NoError(t, err)
		rounded, err := strconv.ParseFloat(uText, 64)
		require.NoError(t, err)
		assert.InDelta(t, u, rounded, 0.0501*u)
		assert.InDelta(t, x, value, 0.0501*u+1e-15*math.Abs(x))
	})
}
