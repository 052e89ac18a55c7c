package sim_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
)

// stepped is a tight joint with a syringe of which the plunger moves in the hold.
func stepped(joint sim.Joint, inside, move float64, sign sim.Sign) sim.Scenario {
	holds := drawn(sim.Draw{Kind: sim.Linear, To: 800, Seconds: 1}, 12)
	holds[0].Sign = sign
	return sim.Scenario{
		Joint: joint, Barrel: sim.Barrel{Volume: inside}, Holds: holds,
		Events: sim.Events{Plungers: []sim.Plunger{{At: 6, Seconds: 0.4, Volume: move}}},
	}
}

func TestAPlungerMovesThePressureAsBoyleSays(t *testing.T) {
	const volume, ambient = 30e-6, 101325.0
	for name, c := range map[string]struct {
		inside, move float64
		sign         sim.Sign
	}{
		"out under suction":            {0, 0.5e-6, sim.Suction},
		"in under pressure":            {0.5e-6, -0.5e-6, sim.Pressure},
		"in under suction":             {0.2e-6, -0.2e-6, sim.Suction},
		"out, from a syringe with air": {1e-6, 0.5e-6, sim.Suction},
	} {
		t.Run(name, func(t *testing.T) {
			s := stepped(sim.Joint{Segments: []sim.Segment{sim.Tube(7.4e-3, volume)}}, c.inside, c.move, c.sign)
			tr, truths := run(t, s)
			before := ambient - deltaAt(t, tr, truths[0].Isolated+5.9)
			after := ambient - deltaAt(t, tr, truths[0].Isolated+11.8)
			whole := volume + c.inside
			assert.InDelta(t, before*whole/(whole+c.move), after, 0.02, "settled, at the temperature of the room")
			assert.InDelta(t, whole, truths[0].Volume, 1e-12)
			assert.InDelta(t, whole+c.move, truths[0].VolumeAfter, 1e-12)
			assert.InDelta(t, truths[0].Isolated+6, truths[0].Disturbed, 1e-9)
		})
	}
}

func TestAFastPlungerHeatsTheAir(t *testing.T) {
	// In 10 ms hardly any heat leaves a bore of 30 mm: p·V^γ stays.
	const volume, move, ambient = 300e-6, 3e-6, 101325.0
	s := stepped(sim.Joint{Segments: []sim.Segment{sim.Tube(15e-3, volume)}}, 0, move, sim.Suction)
	s.Events.Plungers[0].Seconds = 0.01
	s.Barrel.Radius = 15e-3
	s.Sensor.Rate = 1000
	tr, truths := run(t, s)
	before := ambient - deltaAt(t, tr, truths[0].Isolated+5.99)
	after := ambient - deltaAt(t, tr, truths[0].Isolated+6.011)
	adiabatic := before * (1 - math.Pow(volume/(volume+move), 1.4))
	assert.InDelta(t, adiabatic, before-after, 0.06*adiabatic)
	assert.Greater(t, before-after, 1.15*before*move/volume, "more than at constant temperature")
}

func TestAPlungerLosesNoAir(t *testing.T) {
	s := clarinet(t)
	s.Barrel = sim.Barrel{Volume: 0.3e-6}
	s.Events.Plungers = []sim.Plunger{{At: 3, Seconds: 0.2, Volume: -0.3e-6}, {At: 6, Volume: 0.5e-6}}
	assert.Less(t, sim.WorstMassError(s), 1e-12)
}

func TestAPlungerPutBackAfterTheVentIsThereAgain(t *testing.T) {
	s := clarinet(t)
	s.Holds = append(s.Holds, s.Holds[0])
	s.Events.Plungers = []sim.Plunger{
		{Hold: 0, At: 5, Seconds: 0.4, Volume: 0.2e-6},
		{Hold: 0, At: 10.5, Seconds: 0.4, Volume: -0.2e-6},
	}
	_, truths := run(t, s)
	assert.InDelta(t, 0.2e-6, truths[0].VolumeAfter-truths[0].Volume, 1e-15)
	assert.InDelta(t, truths[0].Volume, truths[1].Volume, 1e-15)
	assert.InDelta(t, truths[1].Volume, truths[1].VolumeAfter, 1e-15)
}

func TestAPlungerIsNotPushedFurtherThanHome(t *testing.T) {
	s := clarinet(t)
	s.Events.Plungers = []sim.Plunger{{At: 5, Volume: -0.1e-6}}
	_, _, err := s.Run()
	require.ErrorContains(t, err, "further than home")
	s.Events.Plungers[0].Hold = 3
	_, _, err = s.Run()
	require.ErrorContains(t, err, "plunger 0 belongs to hold 3")
}
