package sim_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
)

// leaking is a seat of a throughput at 2.5 kPa under suction.
func leaking(t *testing.T, q float64) sim.Leak {
	t.Helper()
	leak, err := sim.NewLeak(q, 0, sim.StatedPa, sim.Suction, sim.Air{})
	require.NoError(t, err)
	return leak
}

func TestTheRigIsCountedOnce(t *testing.T) {
	rig := sim.Rig{Segments: []sim.Segment{sim.Hose(0.5)}, Leaks: []sim.Leak{leaking(t, 1e-4)}}
	apart := clarinet(t)
	apart.Rig = rig
	whole := clarinet(t)
	whole.Joint.Segments = append(whole.Joint.Segments, rig.Segments...)
	whole.Leaks = append(whole.Leaks, rig.Leaks...)

	seen, truths := run(t, apart)
	same, others := run(t, whole)
	for i := range same.Readings {
		require.InDelta(t, same.Readings[i].Pressure, seen.Readings[i].Pressure, 1e-9)
	}
	got := truths[0]
	assert.InDelta(t, others[0].LeakRate, got.LeakRate, 1e-15)
	assert.InDelta(t, others[0].Volume, got.Volume, 1e-18)
	assert.InDelta(t, 1e-4, got.Rig.LeakRate, 1e-12)
	assert.InDelta(t, math.Pi*1.5e-3*1.5e-3*0.5, got.Rig.Volume, 1e-12)
	assert.InDelta(t, 3e-3, got.Joint().LeakRate, 1e-12)
	assert.InDelta(t, 39e-6, got.Joint().Volume, 1e-12)

	blank := sim.Scenario{Rig: rig, Holds: apart.Holds}
	_, truths = run(t, blank)
	assert.InDelta(t, 1e-4, truths[0].LeakRate, 1e-12, "the rig alone")
	assert.InDelta(t, got.Rig.Volume, truths[0].Volume, 1e-18)
}

func TestAReferenceLeakCarriesWhatItsCertificateSays(t *testing.T) {
	certified := sim.Air{Ambient: 101325, Temperature: 293.15}
	r, err := sim.NewReference(2e-3, 0.05, 2500, sim.Suction, certified, sim.Tube(1e-3, 0.3e-6))
	require.NoError(t, err)
	q, share := r.Certified(2500, sim.Suction, certified)
	assert.InEpsilon(t, 2e-3, q, 1e-9)
	assert.InDelta(t, 0.05, share, 1e-6)

	laminar, err := sim.NewReference(2e-3, 0, 2500, sim.Suction, certified, sim.Segment{})
	require.NoError(t, err)
	// q ∝ (p₁² − p₂²)/μ, and air at 30 °C is 2.58 % more viscous than at 20 °C
	// (18.676 and 18.206 µPa·s, Lemmon and Jacobsen 2004).
	warm, _ := laminar.Certified(2500, sim.Suction, sim.Air{Ambient: 90e3, Temperature: 303.15})
	thin := (90e3*90e3 - 87.5e3*87.5e3) / (101325.*101325 - 98825*98825)
	assert.InEpsilon(t, 2e-3*thin/1.0258, warm, 5e-4)
	less, _ := laminar.Certified(1250, sim.Pressure, certified)
	assert.InEpsilon(t, 1e-3*(101325+625)/(101325-1250), less, 1e-9)

	_, err = sim.NewReference(0, 0, 2500, sim.Suction, certified, sim.Segment{})
	require.Error(t, err)
}

func TestAnAddedReferenceLeakTellsTheVolume(t *testing.T) {
	// V·r₁ = q and (V + v)·r₂ = q + q_ref, with r the rates at one difference.
	dead := sim.Segment{Radius: 5e-5, Volume: 0.5e-6, Rings: 8}
	r, err := sim.NewReference(2e-3, 0, 2500, sim.Suction, sim.Air{}, dead)
	require.NoError(t, err)
	alone := sim.Scenario{
		Joint: isothermal(40e-6), Leaks: []sim.Leak{leaking(t, 1e-3)},
		Holds: drawn(sim.Draw{Kind: sim.Linear, To: 2600}, 10),
	}
	with := alone
	with.Reference = r
	rate := func(s sim.Scenario) float64 {
		tr, truths := run(t, s)
		assert.InDelta(t, s.Reference.Dead.Volume, truths[0].Reference.Volume, 1e-18)
		assert.InDelta(t, 40e-6, truths[0].Joint().Volume, 1e-15)
		for at := truths[0].Isolated; ; at += 0.01 {
			if deltaAt(t, tr, at) <= 2500 {
				return (deltaAt(t, tr, at-0.2) - deltaAt(t, tr, at+0.2)) / 0.4
			}
		}
	}
	r1, r2 := rate(alone), rate(with)
	assert.InEpsilon(t, 40e-6, (2e-3-0.5e-6*r2)/(r2-r1), 1e-3)
}

func TestABottleIsTwiceAsHighAsWide(t *testing.T) {
	b := sim.Bottle(250e-6)
	radius := b.Bore()
	assert.InEpsilon(t, 250e-6, math.Pi*radius*radius*4*radius, 1e-12)
	assert.InEpsilon(t, 250e-6, b.Volume(), 1e-12)
}
