package air_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/air"
)

// Computed elsewhere from the formula of Saint-Venant and Wantzel with γ = 1.4.
func TestOrificeFollowsSaintVenantAndWantzel(t *testing.T) {
	scale := math.Sqrt(air.SpecificGasConstant * roomT)
	for ratio, want := range map[float64]float64{
		0.99: 0.14066170, 0.98: 0.19784555, 0.95: 0.30764110, 0.9: 0.42258086, 0.8: 0.56066102, 0.7: 0.63831723, 0.6: 0.67691525,
		0.52828179: 0.68473146, 0.3: 0.68473146, 0: 0.68473146, // choked
	} {
		got := air.Orifice(1e-6, 0.65, ambient, ratio*ambient, roomT) / (0.65 * 1e-6 * ambient * scale)
		assert.InDelta(t, want, got, 6e-9, "ratio %g", ratio)
	}
	assert.InDelta(t, 0.52828179, air.CriticalRatio(), 5e-9)
}

func TestOrificeRunsBothWays(t *testing.T) {
	in := air.Orifice(1e-8, 0.6, ambient, 98000, roomT)
	assert.Positive(t, in)
	assert.Equal(t, -in, air.Orifice(1e-8, 0.6, 98000, ambient, roomT))
	assert.Zero(t, air.Orifice(1e-8, 0.6, ambient, ambient, roomT))
}

// To first order a hole carries p_a·Cd·A·√(2Δp/ρ); the rest grows with Δp, so a
// thousandth of a pascal must agree to nine digits if none are lost.
func TestOrificeKeepsItsDigitsAtSmallDifferences(t *testing.T) {
	const difference = 1e-3
	want := ambient * 0.6 * 1e-8 * math.Sqrt(2*difference/air.Density(ambient, roomT))
	assert.InEpsilon(t, want, air.Orifice(1e-8, 0.6, ambient, ambient-difference, roomT), 1e-7)
}
