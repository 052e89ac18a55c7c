package sim_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
	"boretight/internal/trace"
)

// column stands at 20 °C, where 250 mm of water are 2442 Pa.
func column(levels ...sim.Level) sim.WaterColumn {
	return sim.WaterColumn{Place: sim.Place{Latitude: 52.1, Altitude: 40}, Levels: levels}
}

// between is the mean of the readings from one time to another, in seconds.
func between(tr trace.Trace, from, to float64) float64 {
	var sum, n float64
	for _, r := range tr.Readings {
		if at := r.Seconds(); at >= from && at < to {
			sum += r.Pressure
			n++
		}
	}
	return sum / n
}

func TestAColumnWeighsWhatTablesSay(t *testing.T) {
	c := column()
	// Normal gravity of the GRS80 ellipsoid at 0°, 45° and 90° (Moritz 1980).
	for latitude, gravity := range map[float64]float64{0: 9.780327, 45: 9.806199, 90: 9.832186} {
		assert.InDelta(t, gravity, sim.Place{Latitude: latitude}.Gravity(), 2e-5, "%g°", latitude)
	}
	assert.InDelta(t, 3.086e-3, sim.Place{}.Gravity()-sim.Place{Altitude: 1000}.Gravity(), 1e-9)
	// Density of air-free water (Tanaka and others 2001), in kg/m³; air has 1.204.
	for celsius, density := range map[float64]float64{4: 999.975, 15: 999.103, 20: 998.207, 25: 997.048} {
		c.Water = 273.15 + celsius
		assert.InEpsilon(t, density-1.204, c.Pressure(1)/c.Place.Gravity(), 1e-5, "%g °C", celsius)
	}
	assert.Equal(t, -c.Pressure(0.25), c.Pressure(-0.25))
}

func TestLevelsAreGoneToAndHeld(t *testing.T) {
	tr, truths, err := column(sim.Level{Height: 0.1, Ramp: 1, Seconds: 2}, sim.Level{Height: -0.2, Ramp: 1, Seconds: 2}).Run()
	require.NoError(t, err)
	require.Len(t, truths, 2)
	assert.Equal(t, []float64{1, 3, 4, 6}, []float64{truths[0].From, truths[0].To, truths[1].From, truths[1].To})
	assert.InDelta(t, 978.6, truths[0].Pressure, 1)
	assert.InEpsilon(t, truths[0].Pressure*-2, truths[1].Pressure, 1e-12)
	assert.InDelta(t, truths[0].Pressure, between(tr, 1.005, 3), 1e-6)
	assert.InDelta(t, truths[1].Pressure, between(tr, 4.005, 6), 1e-6)
	assert.InDelta(t, truths[0].Pressure/2, between(tr, 0.495, 0.505), 1e-6, "half way up")
	assert.Len(t, tr.Readings, 601)

	_, _, err = column().Run()
	require.ErrorContains(t, err, "no levels")
	_, _, err = column(sim.Level{Height: 0.1}).Run()
	require.ErrorContains(t, err, "level 0")
}

func TestAGaugeOfWrongSpanAndZeroReadsByAStraightLine(t *testing.T) {
	c := column(sim.Level{Height: 0.1, Seconds: 1}, sim.Level{Height: 0.3, Ramp: 0.5, Seconds: 1})
	c.Sensor = sim.Sensor{Span: 0.015, Zero: 13.6}
	tr, truths, err := c.Run()
	require.NoError(t, err)
	for _, level := range truths {
		assert.InDelta(t, 1.015*level.Pressure+13.6, between(tr, level.From+0.005, level.To), 1e-6)
	}
}

func TestHysteresisIsWhatComingDownReadsMore(t *testing.T) {
	c := column(
		sim.Level{Height: 0.1, Ramp: 0.5, Seconds: 1}, sim.Level{Height: 0.2, Ramp: 0.5, Seconds: 1},
		sim.Level{Height: 0.3, Ramp: 0.5, Seconds: 1}, sim.Level{Height: 0.2, Ramp: 0.5, Seconds: 1},
	)
	c.Sensor.Hysteresis = 6
	tr, truths, err := c.Run()
	require.NoError(t, err)
	up, down := between(tr, truths[1].From+0.005, truths[1].To), between(tr, truths[3].From+0.005, truths[3].To)
	assert.InDelta(t, 6, down-up, 1e-6)
	assert.InDelta(t, truths[1].Pressure, (up+down)/2, 1e-6)

	c.Sensor.Hysteresis = -1
	_, _, err = c.Run()
	require.ErrorContains(t, err, "play")
}
