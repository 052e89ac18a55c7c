package sim_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
)

func TestFlowFunctionHasItsPublishedValues(t *testing.T) {
	// Choked flow function for γ = 1.4 is 0.68473146, in the convention
	// ṁ = C_d·A·p₁/√(R_s·T)·ψ; unchoked values computed from the formula.
	for r, want := range map[float64]float64{0.5: 0.68473146, 0.99: 0.14066170, 0.95: 0.30764110, 0.9: 0.42258086, 0.8: 0.56066102, 0.6: 0.67691525} {
		assert.InDelta(t, want, sim.Wantzel(r), 1e-8, "pressure ratio %g", r)
	}
	assert.Zero(t, sim.Wantzel(1))
}

func TestNeedleHasItsWorkedThroughput(t *testing.T) {
	// π·d⁴(p₁²−p₂²)/(256·μ·L) with μ = 18.206 µPa·s, L = 25 mm, from 101325 Pa.
	for _, c := range []struct{ diameter, delta, want float64 }{
		{0.159e-3, 1000, 3.474898e-3}, {0.159e-3, 2490.8891, 8.591591e-3}, {0.260e-3, 2490.8891, 6.142972e-2},
	} {
		got := sim.NewNeedle(c.diameter, 25e-3, sim.Air{}).Throughput(101325-c.delta, sim.Air{})
		assert.InEpsilon(t, c.want, got, 1e-6, "%g m at %g Pa", c.diameter, c.delta)
	}
}

func TestALeakCarriesWhatItWasMadeFor(t *testing.T) {
	air := sim.Air{Ambient: 98.3e3, Temperature: 295.65}
	for _, sign := range []sim.Sign{sim.Suction, sim.Pressure} {
		bore := 98.3e3 - 2500.0
		if sign == sim.Pressure {
			bore = 98.3e3 + 2500
		}
		for _, s := range []float64{0, 0.001, 0.05, 0.3, 0.7, 0.99, 1} {
			leak, err := sim.NewLeak(3e-3, s, 2500, sign, air)
			require.NoError(t, err)
			got := leak.Throughput(bore, air)
			if sign == sim.Pressure {
				got = -got
			}
			assert.InEpsilon(t, 3e-3, got, 1e-9, "%v, share %g", sign, s)
			assert.InDelta(t, s, leak.InertialShare(2500, sign, air), 1e-6, "%v", sign)
		}
	}
}

func TestThroughputGrowsBetweenTheRootAndTheFirstPowerOfTheDifference(t *testing.T) {
	// In Δp = Aq + Bq² the local exponent is 1/(1+s): halving a small Δp around
	// which s was set shows it, compressibility aside.
	for _, s := range []float64{0, 0.5, 1} {
		leak, err := sim.NewLeak(1e-3, s, 20, sim.Suction, sim.Air{})
		require.NoError(t, err)
		up := leak.Throughput(101325-20.2, sim.Air{})
		down := leak.Throughput(101325-19.8, sim.Air{})
		exponent := (up - down) / 1e-3 / 0.02
		assert.InDelta(t, 1/(1+s), exponent, 1e-3, "share %g", s)
	}
}

func TestTheTableOfSeatsAgreesWithTheSeats(t *testing.T) {
	var seats []sim.Leak
	for _, s := range []float64{0, 0.1, 0.5, 1} {
		leak, err := sim.NewLeak(1e-3, s, 2500, sim.Suction, sim.Air{})
		require.NoError(t, err)
		seats = append(seats, leak)
	}
	for _, delta := range []float64{-4100, -2500, -300, -5, 5, 50, 800, 2500, 3700, 5500} {
		var want float64
		for _, seat := range seats {
			want += seat.Throughput(101325-delta, sim.Air{})
		}
		// 5500 Pa lies beyond the table and is carried on from its last cubic.
		assert.InEpsilon(t, want, sim.Tabulated(seats, sim.Air{}, 4200, delta), 2e-5, "Δ = %g Pa", delta)
	}
}

func TestAnImpossibleLeakIsRefused(t *testing.T) {
	for name, make := range map[string]func() (sim.Leak, error){
		"negative throughput": func() (sim.Leak, error) { return sim.NewLeak(-1, 0, 2500, sim.Suction, sim.Air{}) },
		"share beyond one":    func() (sim.Leak, error) { return sim.NewLeak(1e-3, 1.1, 2500, sim.Suction, sim.Air{}) },
		"no difference":       func() (sim.Leak, error) { return sim.NewLeak(1e-3, 0, 0, sim.Suction, sim.Air{}) },
	} {
		_, err := make()
		assert.ErrorContains(t, err, "want a throughput of 0 or more", name)
	}
}
