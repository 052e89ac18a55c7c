package sim_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
	"boretight/internal/trace"
)

const alpha20 = 2.135e-5 // m²/s at 20 °C and one atmosphere

// run simulates and fails the test if the scenario makes no sense.
func run(t *testing.T, s sim.Scenario) (trace.Trace, []sim.Truth) {
	t.Helper()
	tr, truths, err := s.Run()
	require.NoError(t, err)
	require.Len(t, truths, len(s.Holds))
	require.NotEmpty(t, tr.Readings)
	return tr, truths
}

// deltaAt interpolates Δ = −gauge pressure at a time in seconds.
func deltaAt(t *testing.T, tr trace.Trace, at float64) float64 {
	t.Helper()
	for i := 1; i < len(tr.Readings); i++ {
		a, b := tr.Readings[i-1], tr.Readings[i]
		if b.Seconds() >= at {
			x := (at - a.Seconds()) / (b.Seconds() - a.Seconds())
			return -(a.Pressure + x*(b.Pressure-a.Pressure))
		}
	}
	require.Failf(t, "trace too short", "no reading at %g s", at)
	return 0
}

// isothermal is a volume cut into bores so narrow that heat follows at once.
func isothermal(volume float64) sim.Joint {
	return sim.Joint{Segments: []sim.Segment{{Radius: 5e-5, Volume: volume, Rings: 8}}}
}

// drawn is a hold without vent, drawn by d.
func drawn(d sim.Draw, seconds float64) []sim.Hold {
	return []sim.Hold{{Rest: 0.1, Draw: d, Seconds: seconds, Vent: sim.Vent{None: true}}}
}

func TestReboundAfterAnInstantStep(t *testing.T) {
	// Series 0.2857·Σ wₙ·exp(−λₙ²αt/a²) for conduction in a closed tube with
	// compression work, checked against finite differences to four digits.
	want := map[float64]float64{0.01: 0.718, 0.05: 0.450, 0.1: 0.296, 0.2: 0.142, 0.3: 0.0689, 0.5: 0.0164}
	const (
		radius  = 7.4e-3
		step    = 10.0 // Pa, small: the series is linear
		rebound = step * 0.4 / 1.4
	)
	for _, sign := range []sim.Sign{sim.Suction, sim.Pressure} {
		holds := drawn(sim.Draw{Kind: sim.Instant, To: step}, 2)
		holds[0].Sign = sign
		tr, _ := run(t, sim.Scenario{
			Joint:  sim.Joint{Segments: []sim.Segment{sim.Tube(radius, 39e-6)}},
			Holds:  holds,
			Sensor: sim.Sensor{Rate: 2000},
		})
		for x, left := range want {
			delta := math.Abs(deltaAt(t, tr, 0.1+x*radius*radius/alpha20))
			got := (delta - (step - rebound)) / rebound
			assert.InDelta(t, left, got, 0.001, "%v, αt/a² = %g", sign, x)
		}
	}
}

func TestASlowDrawLeavesLessRebound(t *testing.T) {
	// Part of the Δ at closure still to rebound, in percent, after a draw of T
	// seconds even in pressure: 28.5714·Σ 4/jₙ²·(τₙ/T)·(1 − exp(−T/τₙ)),
	// τₙ = a²/(jₙ²α), jₙ the zeros of J0, 25 terms, α = 2.135e-5 m²/s. (A draw of
	// even flow leaves less: 12.55 % in the first case, or 10.25 % when stated
	// against the step that the same flow would have made at once.)
	for _, c := range []struct{ radius, seconds, percent float64 }{
		{7.5e-3, 0.5, 12.81}, {7.5e-3, 1, 8.41}, {7.5e-3, 5, 1.88},
		{20e-3, 0.5, 21.94}, {20e-3, 1, 19.43}, {20e-3, 5, 10.65},
	} {
		tr, truths := run(t, sim.Scenario{
			Joint: sim.Joint{Segments: []sim.Segment{sim.Tube(c.radius, 100e-6)}},
			Holds: drawn(sim.Draw{Kind: sim.Linear, To: 100, Seconds: c.seconds}, 40),
		})
		settled := deltaAt(t, tr, truths[0].Isolated+39)
		assert.InDelta(t, c.percent, 100-settled, 0.025, "radius %g m, %g s", c.radius, c.seconds)
	}
}

func TestRingsConverge(t *testing.T) {
	// Δ soon after a full step, where the thermal layer at the wall is thinnest.
	delta := func(rings int) float64 {
		seg := sim.Tube(7.4e-3, 39e-6)
		seg.Rings = rings
		tr, _ := run(t, sim.Scenario{
			Joint:  sim.Joint{Segments: []sim.Segment{seg}},
			Holds:  drawn(sim.Draw{Kind: sim.Instant, To: 2500}, 0.5),
			Sensor: sim.Sensor{Rate: 1000},
		})
		return deltaAt(t, tr, 0.2)
	}
	d8, d16, d32, d64 := delta(8), delta(16), delta(32), delta(64)
	assert.Less(t, math.Abs(d16-d32), 0.4*math.Abs(d8-d16), "second order should quarter the difference")
	assert.Less(t, math.Abs(d32-d64), 0.4*math.Abs(d16-d32))
	assert.InDelta(t, d64, d32, 0.5, "pascals of 2500")
}

func TestMassIsConserved(t *testing.T) {
	leak, err := sim.NewLeak(5e-3, 0.3, 2500, sim.Suction, sim.Air{})
	require.NoError(t, err)
	s := sim.Scenario{
		Air:    sim.Air{WallDrift: 1e-3},
		Joint:  sim.Joint{Segments: append(sim.Taper(2.4e-3, 5.3e-3, 11.5e-6, 3), sim.Hose(0.5)), Compliance: 0.04, Creep: sim.Creep{Kappa: 0.01, Tau: 2}},
		Leaks:  []sim.Leak{leak},
		Holds:  []sim.Hold{{Rest: 1, Draw: sim.Draw{Kind: sim.Strokes, To: 2800}, Seconds: 8, Vent: sim.Vent{Open: 0.5}, After: 2}},
		Events: sim.Events{Bumps: []sim.Bump{{At: 3, Seconds: 0.1, Volume: 1e-8}}},
	}
	assert.Less(t, sim.WorstMassError(s), 1e-12)
}

func TestLaminarNeedleFollowsItsClosedForm(t *testing.T) {
	// Needle 0.159 × 25 mm on 100 cm³ from Δ = 5000 Pa at 101325 Pa and 20 °C:
	// Δ = 2p_aΔ₀E/(2p_a − Δ₀ + Δ₀E), E = exp(−t/28.63581 s).
	want := map[float64]float64{0.5: 4915.5538, 1: 4832.4989, 2: 4670.4766, 5: 4215.6010}
	tr, truths := run(t, sim.Scenario{
		Joint: isothermal(100e-6),
		Leaks: []sim.Leak{sim.NewNeedle(0.159e-3, 25e-3, sim.Air{})},
		Holds: drawn(sim.Draw{Kind: sim.Linear, To: 5000}, 6),
	})
	for at, delta := range want {
		assert.InDelta(t, delta, deltaAt(t, tr, truths[0].Isolated+at), 0.05, "%g s", at)
	}
}

func TestOrificeFollowsSaintVenantWantzel(t *testing.T) {
	// Orifice 0.2 mm, discharge coefficient 0.65, on 100 cm³ from Δ = 5000 Pa at
	// 20 °C, isothermal, integrated numerically elsewhere.
	want := map[float64]float64{1: 3326.100, 2: 1982.532, 3: 979.392}
	tr, truths := run(t, sim.Scenario{
		Joint: isothermal(100e-6),
		Leaks: []sim.Leak{sim.NewOrifice(0.2e-3, 0.65)},
		Holds: drawn(sim.Draw{Kind: sim.Linear, To: 5000}, 4),
	})
	for at, delta := range want {
		assert.InDelta(t, delta, deltaAt(t, tr, truths[0].Isolated+at), 0.1, "%g s", at)
	}
}

func TestLateDecayIsSlowerThanTheLeakByTheHeatItCarries(t *testing.T) {
	// While k·a²/α is small, the late decay constant lies below the isothermal one
	// by (γ−1)·k·a²/(11.2·α). Small Δ, so that the laminar law is linear.
	const (
		radius, volume = 9.5e-3, 99e-6
		tau            = 40.0
	)
	leak, err := sim.NewLeak(50*volume/tau, 0, 50, sim.Suction, sim.Air{})
	require.NoError(t, err)
	tr, truths := run(t, sim.Scenario{
		Joint:    sim.Joint{Segments: []sim.Segment{sim.Tube(radius, volume)}},
		Leaks:    []sim.Leak{leak},
		Holds:    drawn(sim.Draw{To: 50}, 30),
		StatedPa: 50,
	})
	at := truths[0].Isolated
	// Late: ten of the slowest heat times, 0.6 s each, have gone.
	rate := math.Log(deltaAt(t, tr, at+6)/deltaAt(t, tr, at+29)) / 23
	want := 1 - 0.4/tau*radius*radius/alpha20/11.2
	assert.InDelta(t, want, rate*tau, 2e-4)
	assert.InDelta(t, 1-0.4/tau*4.227/11.2, want, 1e-4, "the effect must be of the size looked for")
}

func TestTheTwoTestSignsDifferAsTheGapLawSays(t *testing.T) {
	// The same laminar leak reads 1 ∓ Δp/(2p_a) in suction and pressure.
	needle := sim.NewNeedle(0.159e-3, 25e-3, sim.Air{})
	suction := needle.Throughput(101325-2500, sim.Air{})
	pressure := -needle.Throughput(101325+2500, sim.Air{})
	x := 2500.0 / (2 * 101325)
	assert.InDelta(t, (1-x)/(1+x), suction/pressure, 1e-9)
}

func TestComplianceActsAsVolume(t *testing.T) {
	const kappa = 0.05
	decay := func(j sim.Joint) float64 {
		tr, truths := run(t, sim.Scenario{
			Joint: j, Leaks: []sim.Leak{sim.NewNeedle(0.159e-3, 25e-3, sim.Air{})},
			Holds: drawn(sim.Draw{Kind: sim.Linear, To: 500}, 11),
		})
		at := truths[0].Isolated
		return math.Log(deltaAt(t, tr, at+1) / deltaAt(t, tr, at+10))
	}
	soft := isothermal(100e-6)
	soft.Compliance = kappa
	assert.InDelta(t, 1+kappa, decay(isothermal(100e-6))/decay(soft), 1e-3)
	assert.InDelta(t, 105e-6, soft.EffectiveVolume(), 1e-12)
}

func TestCreepTakesItsShareAndStops(t *testing.T) {
	j := isothermal(100e-6)
	j.Creep = sim.Creep{Kappa: 0.02, Tau: 1}
	tr, truths := run(t, sim.Scenario{Joint: j, Holds: drawn(sim.Draw{Kind: sim.Linear, To: 2500, Seconds: 0.01}, 20)})
	// Drawn fast, then w grows from almost 0 to κΔ: Δ falls to Δ₀/(1 + κ).
	got := deltaAt(t, tr, truths[0].Isolated+19)
	assert.InDelta(t, 2500/1.02, got, 1.5)
}

func TestMoistureRaisesThePressureInBothSigns(t *testing.T) {
	for _, sign := range []sim.Sign{sim.Suction, sim.Pressure} {
		j := isothermal(40e-6)
		j.Moisture = sim.Moisture{Saturation: 2330, Dry: 230, Tau: 5}
		holds := drawn(sim.Draw{Kind: sim.Linear, To: 2500}, 10)
		holds[0].Sign = sign
		tr, truths := run(t, sim.Scenario{Joint: j, Holds: holds})
		at := truths[0].Isolated
		assert.Greater(t, deltaAt(t, tr, at+1)-deltaAt(t, tr, at+9), 50.0, "%v: pressure must rise", sign)
	}
}

func TestASaturatedBoreAnswersADrawWithVapour(t *testing.T) {
	// Drawing thins the vapour with the air, by 2330·2500/101325 = 57.5 Pa, which
	// the wet wall gives back; pumping up does the opposite. So |Δ| falls in both.
	for _, sign := range []sim.Sign{sim.Suction, sim.Pressure} {
		j := isothermal(40e-6)
		j.Moisture = sim.Moisture{Saturation: 2330, Tau: 2}
		holds := drawn(sim.Draw{Kind: sim.Linear, To: 2500, Seconds: 0.02}, 21)
		holds[0].Sign = sign
		tr, truths := run(t, sim.Scenario{Joint: j, Holds: holds})
		at := truths[0].Isolated
		fallen := 2500 - math.Abs(deltaAt(t, tr, at+20))
		assert.InDelta(t, 57.5, fallen, 4, "%v", sign)
	}
}

func TestALampMovesThePressureAsAGasThermometer(t *testing.T) {
	// 345.6 Pa/K at 101325 Pa and 293.15 K.
	tr, truths := run(t, sim.Scenario{
		Joint:  isothermal(40e-6),
		Holds:  drawn(sim.Draw{Kind: sim.Linear, To: 100}, 12),
		Events: sim.Events{Lamps: []sim.Lamp{{At: 1, Seconds: 10, Rate: 0.02, Segment: -1}}},
	})
	at := truths[0].Isolated
	rise := deltaAt(t, tr, at+1) - deltaAt(t, tr, at+11.5)
	assert.InDelta(t, 0.2*345.6, rise, 0.2)
	assert.InDelta(t, at+1, truths[0].Disturbed, 1e-9)
}

func TestABumpComesAndGoes(t *testing.T) {
	tr, truths := run(t, sim.Scenario{
		Joint:  isothermal(40e-6),
		Holds:  drawn(sim.Draw{Kind: sim.Linear, To: 2500}, 5),
		Events: sim.Events{Bumps: []sim.Bump{{At: 2, Seconds: 0.4, Volume: 40e-9}}},
	})
	at := truths[0].Isolated
	before, middle, after := deltaAt(t, tr, at+1.9), deltaAt(t, tr, at+2.2), deltaAt(t, tr, at+2.5)
	// A thousandth more volume is a thousandth less pressure.
	assert.InDelta(t, (101325-2500)/1001.0, middle-before, 1)
	assert.InDelta(t, before, after, 0.1)
}

func TestStepsConverge(t *testing.T) {
	leak, err := sim.NewLeak(2e-2, 0.4, 2500, sim.Suction, sim.Air{})
	require.NoError(t, err)
	s := sim.Scenario{
		Joint: sim.Joint{Segments: []sim.Segment{sim.Tube(7.4e-3, 39e-6), sim.Hose(0.5)}},
		Leaks: []sim.Leak{leak},
		Holds: drawn(sim.Draw{Kind: sim.Strokes, To: 2700}, 1.5),
	}
	usual, half, fine := sim.Lasting(s, 2e-3), sim.Lasting(s, 1e-3), sim.Lasting(s, 2.5e-4)
	assert.InDelta(t, fine, usual, 0.01, "pascals of 2700")
	assert.Less(t, math.Abs(half-fine), 0.5*math.Abs(usual-fine), "second order should nearly quarter it")
}
