package decay_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
)

// BenchmarkFit fits a hold of 2,000 readings: 20 s at 100 Hz.
func BenchmarkFit(b *testing.B) {
	f, err := sim.FamilyNamed("small-laminar")
	require.NoError(b, err)
	s := f.Draw(rand.New(rand.NewPCG(1, 3)))
	s.Sensor.Rate = 100
	s.Holds[0].Seconds = 20
	tr, truths, err := s.Run()
	require.NoError(b, err)
	h := hold.Find(tr)[0]
	t := truths[0]
	setup := decay.Setup{
		Volume: decay.Input{Value: t.Volume, U: 0.01 * t.Volume}, Bore: decay.Input{Value: 2 * t.Bore},
		Ambient: decay.Input{Value: t.Ambient, U: 100}, Temperature: decay.Input{Value: t.Temperature, U: 0.5},
	}
	b.ReportAllocs()
	for b.Loop() {
		if r := decay.Fit(h, setup); r.LeakRate == nil {
			b.Fatal(r.Notes)
		}
	}
	b.ReportMetric(float64(h.Held.Len()), "readings")
}
