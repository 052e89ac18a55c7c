package decay_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"boretight/internal/decay"
)

// The budget's lines of what is told (JCGM 100:2008, 5.1.2) against draws of the same
// (JCGM 101:2008, 7): one hold, its volume, span and rig leakage drawn anew each time, and
// measured through the whole estimate. 100 draws know their own scatter to 7 %.
func TestTheBudgetOfWhatIsToldIsWhatDrawsGive(t *testing.T) {
	const draws, spanU = 100, 0.04
	h, truth := found(t, scene(t, 9, 0.7)) // a hole sees the span, a thin gap does not
	setup := told(truth)
	setup.Volume.U, setup.SpanU = 0.02*truth.Volume, spanU
	setup.Rig = decay.Input{Value: 0.05 * truth.LeakRate, U: 0.01 * truth.LeakRate}
	stated := decay.Fit(h, setup)
	require.NotNil(t, stated.LeakRate)

	random := rand.New(rand.NewPCG(7, 7))
	measure := func(volume, span, rig float64) float64 {
		drawn, s := *h, setup
		s.Volume.Value += volume * s.Volume.U
		s.Rig.Value += rig * s.Rig.U
		off := 1 + span*spanU
		drawn.Readings = slices.Clone(h.Readings)
		for i := range drawn.Readings {
			drawn.Readings[i].Pressure = h.RestLevel + (h.Readings[i].Pressure-h.RestLevel)*off
		}
		drawn.Noise *= off
		r := decay.Fit(&drawn, s)
		require.NotNil(t, r.LeakRate)
		return r.LeakRate.Value
	}
	var bySpan, byAll []float64
	for range draws {
		span := random.NormFloat64()
		bySpan = append(bySpan, measure(0, span, 0))
		byAll = append(byAll, measure(random.NormFloat64(), span, random.NormFloat64()))
	}
	line := func(source string) float64 { return contribution(stated, source).U }
	assert.InEpsilon(t, stat.StdDev(bySpan, nil), line("span"), 0.2)
	assert.InEpsilon(t, stat.StdDev(byAll, nil), math.Hypot(math.Hypot(line("volume"), line("span")), line("rig")), 0.2)
}
