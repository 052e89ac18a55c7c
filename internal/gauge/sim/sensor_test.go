package sim_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/gauge/sim"
	"boretight/internal/trace"
)

// resting is a tight joint that is hardly drawn, so that the readings before are
// the sensor alone.
func resting(sensor sim.Sensor, seconds float64) sim.Scenario {
	return sim.Scenario{
		Joint:  isothermal(40e-6),
		Holds:  []sim.Hold{{Rest: seconds, Draw: sim.Draw{To: 2500}, Seconds: 0.1, Vent: sim.Vent{None: true}}},
		Sensor: sensor, Seed: 7,
	}
}

// moments returns mean, standard deviation and the correlation of neighbours of
// the readings before a time in seconds.
func moments(tr trace.Trace, before float64) (mean, sd, neighbours float64) {
	var x []float64
	for _, r := range tr.Readings {
		if r.Seconds() < before {
			x = append(x, r.Pressure)
		}
	}
	for _, v := range x {
		mean += v / float64(len(x))
	}
	var square, product float64
	for i, v := range x {
		square += (v - mean) * (v - mean)
		if i > 0 {
			product += (v - mean) * (x[i-1] - mean)
		}
	}
	return mean, math.Sqrt(square / float64(len(x))), product / square
}

func TestNoiseHasItsSizeAndMemory(t *testing.T) {
	tr, _ := run(t, resting(sim.Sensor{Noise: 2, Zero: 13.6}, 100))
	mean, sd, neighbours := moments(tr, 99)
	// 9,900 readings: standard errors are 0.02 Pa, 0.014 Pa and 0.01.
	assert.InDelta(t, 13.6, mean, 0.1)
	assert.InDelta(t, 2, sd, 0.06)
	assert.InDelta(t, 0, neighbours, 0.04)

	tr, _ = run(t, resting(sim.Sensor{Correlated: 2, Memory: 0.8}, 100))
	_, sd, neighbours = moments(tr, 99)
	assert.InDelta(t, 2, sd, 0.2)
	assert.InDelta(t, 0.8, neighbours, 0.03)
}

func TestLossesHaveTheirShareAndLength(t *testing.T) {
	tr, _ := run(t, resting(sim.Sensor{Lost: 0.3, Burst: 5}, 500))
	var gaps, lost int
	for i := 1; i < len(tr.Readings); i++ {
		if n := int(math.Round(100*(tr.Readings[i].Seconds()-tr.Readings[i-1].Seconds()))) - 1; n > 0 {
			gaps++
			lost += n
		}
	}
	// 50,000 readings in bursts: the share's standard error is about 0.005. Confusing
	// lost per reading with lost per kept reading would give 0.23.
	assert.InDelta(t, 0.3, float64(lost)/50000, 0.02)
	assert.InDelta(t, 5, float64(lost)/float64(gaps), 0.6)
}

func TestLagFollowsARampByItsTimeConstant(t *testing.T) {
	s := resting(sim.Sensor{Lag: 0.05, Rate: 1000}, 0.5)
	s.Holds[0].Draw = sim.Draw{Kind: sim.Linear, To: 2500, Seconds: 2}
	tr, _ := run(t, s)
	// 1250 Pa/s seen 50 ms late.
	assert.InDelta(t, 1250*(1.5-0.05), deltaAt(t, tr, 2), 0.01)
}

func TestSpanZeroStepAndDriftActOnTheReading(t *testing.T) {
	s := resting(sim.Sensor{Span: 0.01, Zero: 20, Drift: 1, Step: 2}, 1)
	s.Holds[0].Seconds = 2
	tr, truths := run(t, s)
	at := truths[0].Isolated + 1
	assert.InDelta(t, 2500*1.01-20-at, deltaAt(t, tr, at), 1.1, "half a step and interpolation")
	for _, r := range tr.Readings {
		assert.InDelta(t, 0, math.Remainder(r.Pressure, 2), 1e-9)
	}
}

func TestBeyondItsRangeASensorSaysSo(t *testing.T) {
	s := resting(sim.Sensor{Min: -1000, Max: 1000}, 0.5)
	s.Holds[0].Seconds = 1
	tr, _ := run(t, s)
	last := tr.Readings[len(tr.Readings)-1]
	assert.Equal(t, -1000.0, last.Pressure)
	assert.Equal(t, trace.Saturated, last.Status)
	assert.Zero(t, tr.Readings[0].Status)
}

func TestFaultsAreFlagged(t *testing.T) {
	tr, _ := run(t, resting(sim.Sensor{Faults: 0.1}, 50))
	var faults int
	for _, r := range tr.Readings {
		if r.Status&trace.Faulty != 0 {
			faults++
		}
	}
	assert.InDelta(t, 0.1, float64(faults)/float64(len(tr.Readings)), 0.02)
}

func TestAnAbsoluteGaugeReadsThePressureInTheBore(t *testing.T) {
	s := resting(sim.Sensor{Absolute: true, Thermometer: true, WarmBy: 0.3}, 1)
	s.Air = sim.Air{Ambient: 98.3e3, Temperature: 295.65}
	tr, _ := run(t, s)
	assert.Equal(t, trace.Absolute, tr.Kind)
	assert.InDelta(t, 98.3e3, tr.Readings[0].Pressure, 1e-6)
	assert.InDelta(t, 22.8, tr.Readings[0].Celsius, 0.1)
}

func TestJitterKeepsReadingsInOrder(t *testing.T) {
	tr, _ := run(t, resting(sim.Sensor{Jitter: 5e-3, Rate: 200}, 20))
	for i := 1; i < len(tr.Readings); i++ {
		assert.Greater(t, tr.Readings[i].T, tr.Readings[i-1].T)
	}
}
