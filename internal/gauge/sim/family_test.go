package sim_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
)

func TestFamiliesDrawWhatTheySay(t *testing.T) {
	for _, f := range sim.Families() {
		t.Run(f.Name, func(t *testing.T) {
			random := rand.New(rand.NewPCG(1, 2))
			for range 3 {
				s := f.Draw(random)
				tr, truths := run(t, s)
				truth := truths[0]
				require.Positive(t, truth.LeakRate)
				assert.InEpsilon(t, s.Joint.EffectiveVolume(), truth.Volume, 1e-12)
				assert.Positive(t, truth.Bore)
				assert.GreaterOrEqual(t, truth.DeltaIsolated, 2500*(1-1e-9))
				assert.LessOrEqual(t, truth.DeltaIsolated, 1.6*1.15*2500)
				assert.Equal(t, f.Disturbed && len(truths) == 1, !math.IsNaN(truth.Disturbed))
				for _, r := range tr.Readings {
					require.False(t, math.IsNaN(r.Pressure))
				}
			}
		})
	}
}

func TestFamiliesKeepWithinTheirBounds(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	each := func(name string, check func(s sim.Scenario, tau float64)) {
		f, err := sim.FamilyNamed(name)
		require.NoError(t, err)
		for range 200 {
			s := f.Draw(random)
			var q float64
			bore := s.Air.Ambient - 2500
			if s.Holds[0].Sign == sim.Pressure {
				bore = s.Air.Ambient + 2500
			}
			for _, seat := range s.Leaks {
				q += math.Abs(seat.Throughput(bore, s.Air))
			}
			check(s, 2500*s.Joint.EffectiveVolume()/q)
		}
	}
	within := func(low, high, x float64, what string) {
		t.Helper()
		assert.GreaterOrEqual(t, x, low*(1-1e-9), what)
		assert.LessOrEqual(t, x, high*(1+1e-9), what)
	}
	each("small-laminar", func(s sim.Scenario, tau float64) {
		within(10e-6, 60e-6, s.Joint.Volume(), "volume")
		within(1.5, 300, tau, "time constant")
	})
	each("wide", func(s sim.Scenario, _ float64) {
		within(150e-6, 2.5e-3, s.Joint.Volume(), "volume")
		within(9e-3, 22.5e-3, s.Joint.Bore(), "bore radius")
	})
	each("fast", func(_ sim.Scenario, tau float64) { within(0.25, 1, tau, "time constant") })
	each("tight", func(_ sim.Scenario, tau float64) { within(600, 20e3, tau, "time constant") })
	each("lossy", func(s sim.Scenario, _ float64) { within(0.1, 0.3, s.Sensor.Lost, "lost") })
	each("pressure", func(s sim.Scenario, _ float64) { assert.Equal(t, sim.Pressure, s.Holds[0].Sign) })
}

func TestTheSameSourceDrawsTheSameScenario(t *testing.T) {
	draw := func() sim.Scenario {
		f, err := sim.FamilyNamed("mixture")
		require.NoError(t, err)
		return f.Draw(rand.New(rand.NewPCG(5, 6)))
	}
	assert.Equal(t, draw(), draw())
}

func TestAnUnknownFamilyIsRefused(t *testing.T) {
	_, err := sim.FamilyNamed("tuba")
	assert.EqualError(t, err, `find the family of scenarios "tuba": there is none of that name`)
}
