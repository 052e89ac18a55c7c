package hold_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/hold"
	"boretight/internal/trace"
)

// wandering is a draw to 2.7 kPa that a pump holds up for some seconds, then a hold of
// 12 s, read at 100 Hz by a gauge whose noise of the given standard deviation in Pa
// remembers 0.95 of itself from one reading to the next.
func wandering(seed uint64, noise, plateau, tau float64) (tr trace.Trace, isolated float64) {
	const memory, top = 0.95, 2700
	r := rand.New(rand.NewPCG(seed, 9))
	isolated = 3 + plateau
	var e float64
	for t := 0.0; t < isolated+14; t += 0.01 {
		e = memory*e + math.Sqrt(1-memory*memory)*r.NormFloat64()
		var delta float64
		switch held := t - isolated; {
		case t < 2:
		case t < 3:
			delta = top * (t - 2)
		case held < 0:
			delta = top
		case held < 12:
			delta = top * math.Exp(-held/tau)
		default:
			delta = top * math.Exp(-12/tau-(held-12)/0.04)
		}
		tr.Readings = append(tr.Readings, trace.Reading{T: time.Duration(t * float64(time.Second)), Pressure: noise*e - delta})
	}
	return tr, isolated
}

func TestAGaugeThatWandersHoldsItsLevel(t *testing.T) {
	right := 0
	for seed := range uint64(12) {
		tr, isolated := wandering(seed, 1.5, 3, 30)
		holds := hold.Find(tr)
		require.Len(t, holds, 1)
		if math.Abs(holds[0].Isolation-isolated) < 0.15 {
			right++
		}
	}
	// How far it wanders is learnt from two seconds of rest, and may look less by chance.
	assert.GreaterOrEqual(t, right, 11, "the pump's plateau is no part of the hold")
}

// Nothing tells a tight joint from one that a pump holds up. Late is then right: a
// plateau taken for a hold would make the joint look tighter than it is.
func TestATightJointOnAGaugeThatWandersIsIsolatedInTheEnd(t *testing.T) {
	for seed := range uint64(12) {
		tr, isolated := wandering(seed, 3, 0, 1000)
		holds := hold.Find(tr)
		require.Len(t, holds, 1)
		require.True(t, holds[0].Isolated(), "seed %d", seed)
		assert.Greater(t, holds[0].Isolation, isolated-0.15, "seed %d", seed)
		assert.Less(t, holds[0].Isolation, isolated+6, "seed %d", seed)
	}
}
