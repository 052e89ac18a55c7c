package quantity_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/quantity"
)

func TestSpreadIsAbsoluteOrRelative(t *testing.T) {
	absolute, err := quantity.ParseSpread[quantity.Volume]("0.34ml")
	require.NoError(t, err)
	assert.InEpsilon(t, 0.34e-6, float64(absolute.Of(34e-6)), 1e-15)

	relative, err := quantity.ParseSpread[quantity.Volume]("5 %")
	require.NoError(t, err)
	assert.InEpsilon(t, 1.7e-6, float64(relative.Of(34e-6)), 1e-15)

	suction, err := quantity.ParseSpread[quantity.Pressure]("2%")
	require.NoError(t, err)
	assert.InEpsilon(t, 50.0, float64(suction.Of(-2500)), 1e-15, "never negative")

	// A difference of 9 °F is 5 K; the offset of the scale has no part in it.
	kelvins, err := quantity.ParseSpread[quantity.Temperature]("9F")
	require.NoError(t, err)
	assert.InEpsilon(t, 5.0, float64(kelvins.Of(293.15)), 1e-15)
	assert.Equal(t, "5 K", kelvins.String())

	for _, s := range []string{"5 %", "0.3 %", "3.4e-7 m³"} {
		spread, err := read[quantity.Spread[quantity.Volume]](s)
		require.NoError(t, err)
		out, err := spread.MarshalText()
		require.NoError(t, err)
		assert.Equal(t, s, string(out))
	}
}

func TestSpreadRefusesWhatMightMeanTwoThings(t *testing.T) {
	_, err := quantity.ParseSpread[quantity.Volume]("0.34")
	assert.EqualError(t, err, `parse uncertainty of volume "0.34": no unit (write a share of the value, such as 1%, or an amount, for example 34.2ml or 35 cm3)`)
	_, err = quantity.ParseSpread[quantity.Volume]("-1 ml")
	assert.EqualError(t, err, `parse uncertainty of volume "-1 ml": an uncertainty cannot be negative`)
	_, err = quantity.ParseSpread[quantity.Temperature]("2 %")
	assert.ErrorContains(t, err, `unit "%" is not known (use one of K, °C, °F)`)
	_, err = quantity.ParseSpread[quantity.Ratio]("2")
	assert.ErrorContains(t, err, "no unit")
}
