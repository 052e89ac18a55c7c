package guided_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/air"
	"boretight/internal/bench/guided"
	"boretight/internal/gauge/sim"
	"boretight/internal/rig"
)

// referenceLeak is a reference leak, as it is simulated and as it is certified, on a rig
// of 8 ml that leaks a little.
func referenceLeak(t *testing.T) (sim.Reference, guided.Reference) {
	t.Helper()
	calibrated := sim.Air{Ambient: 101_325, Temperature: 296.15}
	reference, err := sim.NewReference(3e-3, 0.02, 2500, sim.Suction, calibrated, sim.Tube(1e-3, 0.3e-6))
	require.NoError(t, err)
	q, share := reference.Certified(2500, sim.Suction, calibrated)
	return reference, guided.Reference{
		Leak: rig.Certificate{
			ID: "RL-7", Throughput: rig.Measured{Value: q, U: 0.005 * q},
			At:       rig.Conditions{Sign: air.Suction, Difference: 2500, Ambient: calibrated.Ambient, Temperature: calibrated.Temperature},
			Inertial: rig.Measured{Value: share, U: 0.02},
		},
		Dead: rig.Measured{Value: 0.3e-6, U: 0.03e-6},
		Blanks: []rig.Blank{{
			LeakRate: rig.Result{Measured: rig.Measured{Value: 1e-4, U: 2e-6}}, Volume: rig.Measured{Value: 8e-6, U: 0.1e-6},
			Sign: air.Suction, At: 2500, Rig: told.Rig,
		}},
	}
}

func TestACheckOfARigThatReadsRight(t *testing.T) {
	t.Parallel()
	simulated, reference := referenceLeak(t)
	p, err := guided.NewCheck(told, reference, rig.Measured{Value: 50e-6, U: 0.25e-6}, 2, nil)
	require.NoError(t, err)
	assert.Contains(t, p.Next(), "RL-7 on 50 ml")
	feed(t, p, sim.Scenario{Joint: sim.Bottle(50e-6), Rig: hoseRig(t, 1e-4), Reference: simulated, Holds: cycles(2, 2700, 25), Seed: 7})
	require.True(t, p.Done())
	r, err := p.Record()
	require.NoError(t, err)
	assert.Equal(t, "RL-7", r.Leak)
	assert.Equal(t, rig.InControl, r.Check.State)
	assert.Less(t, r.Check.Newest.Deviation.U, 0.02)
	assert.InDelta(t, 0, r.Check.Newest.Deviation.Value, 2.5*r.Check.Newest.Deviation.U)
}

func TestACheckGoesOnFromEarlierOnes(t *testing.T) {
	t.Parallel()
	simulated, reference := referenceLeak(t)
	earlier := make([]rig.Checked, 6)
	for i := range earlier { // each within what it says of itself, all to one side
		earlier[i] = rig.Checked{Deviation: rig.Measured{Value: 0.014, U: 0.009}, En: 0.78}
	}
	p, err := guided.NewCheck(told, reference, rig.Measured{Value: 48e-6, U: 0.2e-6}, 1, earlier)
	require.NoError(t, err)
	feed(t, p, sim.Scenario{Joint: sim.Bottle(50e-6), Rig: hoseRig(t, 1e-4), Reference: simulated, Holds: cycles(1, 2700, 25), Seed: 8})
	r, err := p.Record()
	require.NoError(t, err)
	assert.Positive(t, r.Check.Newest.RepeatU)
	assert.Less(t, r.Check.Newest.RepeatU, r.Check.Newest.Deviation.U)
	assert.Equal(t, rig.OutOfControl, r.Check.State, "a bottle of 50 ml told as 48 ml reads 4 %% low: %s", r.Check.Says)
	assert.Empty(t, earlier[0].Measured, "the earlier checks are as they were")
}

func TestAHoldWithoutABlankOfItsSignDoesNotCount(t *testing.T) {
	t.Parallel()
	_, reference := referenceLeak(t)
	p, err := guided.NewCheck(told, reference, rig.Measured{Value: 50e-6, U: 0.25e-6}, 1, nil)
	require.NoError(t, err)
	holds := cycles(1, 2700, 12)
	holds[0].Sign = sim.Pressure
	replies := feed(t, p, sim.Scenario{Joint: sim.Bottle(50e-6), Rig: hoseRig(t, 1e-3), Holds: holds, Seed: 9})
	require.Len(t, replies, 1)
	assert.False(t, replies[0].Accepted)
	assert.Contains(t, replies[0].Text, "no blank of this rig in pressure")
	assert.False(t, p.Done())
}

func TestABlankThatLeaksMoreThanTheLeakIsSaid(t *testing.T) {
	t.Parallel()
	simulated, reference := referenceLeak(t)
	reference.Blanks[0].LeakRate.Measured = rig.Measured{Value: 4e-3, U: 1e-5}
	p, err := guided.NewCheck(told, reference, rig.Measured{Value: 50e-6, U: 0.25e-6}, 1, nil)
	require.NoError(t, err)
	feed(t, p, sim.Scenario{Joint: sim.Bottle(50e-6), Rig: hoseRig(t, 1e-4), Reference: simulated, Holds: cycles(1, 2700, 25), Seed: 10})
	r, err := p.Record()
	require.NoError(t, err)
	assert.Contains(t, r.Notes, "The blank leaks more than rig and joint together: the rig was worse at its blank, or is not sealed the same way now.")
	assert.Equal(t, rig.OutOfControl, r.Check.State)
}

func TestRatesAreStatedWhereTheCertificateIs(t *testing.T) {
	t.Parallel()
	_, reference := referenceLeak(t)
	for certified, want := range map[float64]string{1000: "over 1 kPa", 4000: "over 4 kPa", 9000: "over 2.5 kPa", 100: "over 2.5 kPa"} {
		reference.Leak.At.Difference = certified
		p, err := guided.NewCheck(told, reference, rig.Measured{Value: 50e-6, U: 0.25e-6}, 1, nil)
		require.NoError(t, err)
		assert.Contains(t, p.Next(), want)
	}
}

func TestACertificateForElsewhereIsSaid(t *testing.T) {
	t.Parallel()
	simulated, reference := referenceLeak(t)
	reference.Leak.At.Sign, reference.Leak.At.Difference = air.Pressure, 9000
	p, err := guided.NewCheck(told, reference, rig.Measured{Value: 50e-6, U: 0.25e-6}, 1, nil)
	require.NoError(t, err)
	feed(t, p, sim.Scenario{Joint: sim.Bottle(50e-6), Rig: hoseRig(t, 1e-4), Reference: simulated, Holds: cycles(1, 2700, 25), Seed: 11})
	r, err := p.Record()
	require.NoError(t, err)
	assert.Contains(t, r.Notes, "The leak was certified for pressure and is used for suction.")
	assert.Contains(t, r.Notes, "The leak was certified at 9000 Pa and is used at 2500 Pa: only its law says what it lets through there.")
}

// bottles are those of a proof.
var bottles = []rig.Measured{{Value: 40e-6, U: 0.1e-6}, {Value: 80e-6, U: 0.2e-6}, {Value: 160e-6, U: 0.4e-6}}

// prove leads a proof through holds on each bottle.
func prove(t *testing.T, reference guided.Reference, simulated sim.Reference) rig.Record {
	t.Helper()
	p, err := guided.NewProof(told, reference, bottles, 1)
	require.NoError(t, err)
	for i, b := range bottles {
		require.Contains(t, p.Next(), "RL-7 on the bottle of")
		feed(t, p, sim.Scenario{Joint: sim.Bottle(b.Value), Rig: hoseRig(t, 1e-4), Reference: simulated, Holds: cycles(1, 2700, 60), Seed: uint64(20 + i)})
	}
	require.True(t, p.Done())
	r, err := p.Record()
	require.NoError(t, err)
	return r
}

func TestAProofOnThreeBottles(t *testing.T) {
	t.Parallel()
	simulated, reference := referenceLeak(t)
	r := prove(t, reference, simulated)
	assert.True(t, r.Proof.Passed, "%v", r.Proof.Says)
	assert.Len(t, r.Holds, 3)
	assert.InEpsilon(t, 48.3e-6, r.Proof.Trials[0].Volume.Value, 1e-9, "bottle, rig and dead volume, each once")
}

func TestAProofFindsAVolumeCountedTwice(t *testing.T) {
	t.Parallel()
	simulated, reference := referenceLeak(t)
	reference.Blanks[0].Volume = rig.Measured{Value: 16e-6, U: 0.1e-6}
	r := prove(t, reference, simulated)
	assert.False(t, r.Proof.Passed)
	assert.Contains(t, r.Proof.Says[len(r.Proof.Says)-1], "counted twice or not at all")
}

func TestBottlesFromWhichNothingCanBeProvenAreRefusedBeforeAnyHold(t *testing.T) {
	t.Parallel()
	_, reference := referenceLeak(t)
	_, err := guided.NewProof(told, reference, bottles[:2], 2)
	require.ErrorContains(t, err, "2 bottles, want three")
	_, err = guided.NewProof(told, reference, []rig.Measured{{Value: 50e-6}, {Value: 75e-6}, {Value: 105e-6}}, 2)
	require.ErrorContains(t, err, "at least twice", "with the rig's 8 ml the largest is no more twice the smallest")
}

func TestAHoldTooShortForTheHeatOfItsBottleDoesNotCount(t *testing.T) {
	t.Parallel()
	simulated, reference := referenceLeak(t)
	p, err := guided.NewCheck(told, reference, rig.Measured{Value: 160e-6, U: 1e-6}, 1, nil)
	require.NoError(t, err)
	assert.Contains(t, p.Next(), "keep still for 55 s")
	replies := feed(t, p, sim.Scenario{Joint: sim.Bottle(160e-6), Rig: hoseRig(t, 1e-4), Reference: simulated, Holds: cycles(1, 2700, 15), Seed: 12})
	require.Len(t, replies, 1)
	assert.False(t, replies[0].Accepted)
	assert.Contains(t, replies[0].Text, "keep still for 55 s")
}
