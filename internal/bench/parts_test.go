package bench

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/hold"
	"boretight/internal/trace"
)

func TestThinKeepsExtremesAndOrder(t *testing.T) {
	t.Parallel()
	samples := make([]Sample, 1000)
	for i := range samples {
		samples[i] = Sample{T: float64(i), Pressure: math.Sin(float64(i) / 30)}
	}
	samples[417].Pressure, samples[733].Pressure = 9, -9
	out := thin(samples, 100)
	assert.LessOrEqual(t, len(out), 100)
	assert.Contains(t, out, samples[417])
	assert.Contains(t, out, samples[733])
	assert.IsIncreasing(t, times(out))
	assert.Equal(t, samples[:5], thin(samples[:5], 100), "short input stays as it is")
}

func times(samples []Sample) []float64 {
	out := make([]float64, len(samples))
	for i, s := range samples {
		out[i] = s.T
	}
	return out
}

func TestWedgeIsTheLaminarCurveOfTheLimit(t *testing.T) {
	t.Parallel()
	const ambient, volume, at = 98300.0, 34.2e-6, 2500.0
	setup := decay.Setup{Volume: decay.Input{Value: volume}, Ambient: decay.Input{Value: ambient}, At: at}
	for _, sign := range []hold.Sign{hold.Suction, hold.Pressure} {
		h := &hold.Hold{
			Sign: sign, RestLevel: 13, Isolation: 4, Held: hold.Span{From: 0, To: 1},
			Readings: []trace.Reading{{T: 4 * time.Second, Pressure: 13 + sign.Float()*2700}},
		}
		points := wedge(h, setup, 4.5e-3, 20)
		require.Len(t, points, wedgePoints)
		assert.InDelta(t, 13+sign.Float()*2700, points[0].Pressure, 1e-6)
		assert.InDelta(t, 24, points[len(points)-1].T, 1e-9)
		// Where the curve passes the stated difference, V·dp/dt is the limit.
		for i := 1; i < len(points); i++ {
			a, b := points[i-1], points[i]
			middle := sign.Float() * ((a.Pressure+b.Pressure)/2 - 13)
			if math.Abs(middle-at) < 20 {
				q := volume * math.Abs(b.Pressure-a.Pressure) / (b.T - a.T)
				assert.InEpsilon(t, 4.5e-3, q, 0.01)
			}
		}
		assert.Nil(t, wedge(h, setup, 0, 20), "no limit, no wedge")
		assert.Nil(t, wedge(h, decay.Setup{}, 4.5e-3, 20), "no volume, no wedge")
	}
}

func TestWarningDoesNotFlicker(t *testing.T) {
	t.Parallel()
	r := trace.Reading{}
	assert.Empty(t, warning("", r, -5990))
	assert.Equal(t, warnHigh, warning("", r, -6010))
	assert.Equal(t, warnHigh, warning(warnHigh, r, -5900))
	assert.Empty(t, warning(warnHigh, r, -5790))
	assert.Equal(t, warnHigh, warning("", r, 6010), "pressure too")
	assert.Equal(t, warnSaturated, warning("", trace.Reading{Status: trace.Saturated}, 0))
	assert.Equal(t, warnFaulty, warning("", trace.Reading{Status: trace.Faulty | trace.Saturated}, 0))
}
