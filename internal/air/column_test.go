package air_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/air"
)

// Published formula of Tanaka et al., Metrologia 38 (2001) 301; values recomputed
// elsewhere from it.
func TestWaterDensityIsTanakas(t *testing.T) {
	for t0, want := range map[float64]float64{
		0: 999.8428, 4: 999.9749, 10: 999.7027, 15: 999.1026, 15.556: 999.0170, 20: 998.2067, 22: 997.7730,
		25: 997.0470, 30: 995.6488, 40: 992.2152,
	} {
		assert.InDelta(t, want, air.WaterDensity(t0+celsius), 1.1e-4, "%g °C", t0)
	}
}

// WGS 84, NIMA TR8350.2: equator and pole are published, the rest follows from the
// formula. GRS80 as in 40 CFR 1065.630 gives 9.8061992026 at 45°.
func TestGravityIsThatOfTheEllipsoid(t *testing.T) {
	for latitude, want := range map[float64]float64{0: 9.7803253359, 45: 9.8061977694, 52: 9.8124740779, 90: 9.8321849379, -52: 9.8124740779} {
		assert.InDelta(t, want, air.Gravity(latitude, 0), 2e-10, "%g°", latitude)
	}
	assert.InDelta(t, 9.8061992026, air.Gravity(45, 0), 2e-6)
	assert.InDelta(t, -3.086e-3, air.Gravity(45, 1000)-air.Gravity(45, 0), 1e-12)
}

// Computed elsewhere: 100 mm of water at 20 °C and 52° of latitude give 979.488 Pa,
// 978.311 Pa less the (half humid) air they displace.
func TestWaterColumn(t *testing.T) {
	assert.InDelta(t, 979.488, air.WaterColumn(0.1, roomT, 0, air.Gravity(52, 0)), 1e-3, "in a vacuum")
	assert.InDelta(t, 978.311, air.WaterColumn(0.1, roomT, ambient, air.Gravity(52, 0)), 6e-3, "dry air is 0.4 % heavier")
}
