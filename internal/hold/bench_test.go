package hold_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/trace"
)

func TestAnHourOfRestKeepsTheBufferBounded(t *testing.T) {
	f := hold.NewFinder(trace.Gauge)
	const rate, hour = 100, 3600
	var readings, blocks, room int
	for i := range rate * hour {
		at := time.Duration(i) * time.Second / rate
		f.Push(trace.Reading{T: at, Pressure: 0.5 * math.Sin(float64(i*i)), Celsius: math.NaN()})
		r, b := hold.Kept(f)
		readings, blocks, room = max(readings, r), max(blocks, b), max(room, hold.Capacity(f))
	}
	// 10 s and one more are kept for the next hold, twice that until it is tidied.
	assert.LessOrEqual(t, readings, 23*rate)
	assert.LessOrEqual(t, blocks, 23*rate)
	assert.LessOrEqual(t, room, 100*rate)
}

func BenchmarkPush(b *testing.B) {
	for _, rate := range []float64{100, 1000} {
		b.Run(fmt.Sprintf("%g Hz", rate), func(b *testing.B) {
			s := oboe(25, sim.Suction)
			s.Sensor.Rate = rate
			s.Holds[0].Rest, s.Holds[0].Seconds = 10, 15
			tr, _ := run(b, s)
			period := tr.Readings[len(tr.Readings)-1].T + time.Duration(float64(time.Second)/rate)
			f := hold.NewFinder(tr.Kind)
			b.ReportAllocs()
			var i int
			var shift time.Duration
			for b.Loop() {
				r := tr.Readings[i]
				r.T += shift
				f.Push(r)
				if i++; i == len(tr.Readings) {
					i, shift = 0, shift+period
				}
			}
		})
	}
}
