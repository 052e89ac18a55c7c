package air_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/air"
)

// GRS80 (Moritz 1980): normal gravity at equator and pole as published, and the series of
// 40 CFR 1065.630 between them, 9.8061992026 at 45°. This package's is that of WGS 84,
// whose constants lie 1.4e-6 m/s² below.
func TestGravityIsThatOfGRS80ToSevenFigures(t *testing.T) {
	series := func(latitude float64) float64 {
		s := math.Pow(math.Sin(latitude*math.Pi/180), 2)
		return 9.7803267715 * (1 + s*(5.2790414e-3+s*(2.32718e-5+s*(1.262e-7+s*7e-10))))
	}
	assert.InDelta(t, 9.8061992026, series(45), 5e-11, "the series itself, as published")
	assert.InDelta(t, 9.8321863685, series(90), 2e-9, "the series itself, as published")
	const apart = 1.45e-6
	assert.InDelta(t, 9.7803267715, air.Gravity(0, 0), apart)
	assert.InDelta(t, 9.8321863685, air.Gravity(90, 0), apart)
	for latitude := -90.0; latitude <= 90; latitude += 7.5 {
		assert.InDelta(t, series(latitude), air.Gravity(latitude, 0), apart, "%g°", latitude)
	}
}
