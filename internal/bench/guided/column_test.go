package guided_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/air"
	"boretight/internal/bench/guided"
	"boretight/internal/rig"
	"boretight/internal/trace"
)

// gaugeAt is a gauge at 100 readings a second that a test puts under pressure.
type gaugeAt struct {
	now      time.Duration
	readings []trace.Reading
	random   *rand.Rand
	status   trace.Status
}

func newGauge() *gaugeAt { return &gaugeAt{random: rand.New(rand.NewPCG(1, 2))} }

// stay reads a pressure in Pa for some seconds, moving by a drift in Pa/s.
func (g *gaugeAt) stay(pressure, seconds, drift float64) []trace.Reading {
	for i := range int(100 * seconds) {
		g.now += 10 * time.Millisecond
		p := pressure + drift*float64(i)/100 + g.random.NormFloat64()
		g.readings = append(g.readings, trace.Reading{T: g.now, Pressure: p, Status: g.status, Celsius: math.NaN()})
	}
	return g.readings[max(len(g.readings)-1000, 0):]
}

var (
	water = rig.Column{
		Temperature: rig.Measured{Value: 294.45, U: 0.2}, Ambient: rig.Measured{Value: 98_300, U: 100},
		Place: rig.Place{Latitude: 52.1, Height: 40, Told: true},
		ReadU: 0.3e-3, MeniscusU: 0.2e-3, RulerU: 2e-4, WaterU: 2e-4, Lean: math.Pi / 180,
	}
	range7500 = rig.Gauge{Min: -7500, Max: 7500, Resolution: 0.5}
)

func newColumn() *guided.Calibration {
	return guided.NewCalibration(told, range7500, trace.Gauge, guided.Scale{Column: &water})
}

func TestAWaterColumnCalibratesAGauge(t *testing.T) {
	t.Parallel()
	const span, zero = 1.015, 12.0
	p, g := newColumn(), newGauge()
	for _, line := range []struct {
		text   string
		height float64 // m
	}{
		{"0mm", 0}, {"-100 mm up", -0.1}, {"-20cm up", -0.2}, {"−300mm up", -0.3}, {"-200mm down", -0.2}, {"-0.1m DOWN", -0.1}, {"0mm", 0},
	} {
		density := air.WaterDensity(294.45) - air.Density(98_300, 294.45)
		truth := density * air.Gravity(52.1, 40) * line.height
		r := p.Line(line.text, g.stay(zero+span*truth, 2.5, 0))
		require.True(t, r.Accepted, "%s: %s", line.text, r.Text)
		require.NotContains(t, p.Next(), "complete")
	}
	assert.False(t, p.Done())
	require.True(t, p.Line("done", nil).Accepted)
	require.True(t, p.Done())
	r, err := p.Record()
	require.NoError(t, err)
	assert.Equal(t, rig.KindCalibration, r.Kind)
	assert.Equal(t, "HX-0417", r.Rig.Gauge)
	assert.Empty(t, r.Rig.Hose, "a calibration is of the gauge alone")
	assert.Equal(t, 7, r.Calibration.Pairs)
	assert.Len(t, r.Calibration.Taken, 7)
	assert.InDelta(t, 1/span, r.Calibration.SpanFactor(), 3e-4)
	assert.InDelta(t, 1/span, r.Calibration.SpanFactor(), 2*r.Calibration.Span.U)
}

func TestAReferenceGaugeCalibratesAGauge(t *testing.T) {
	t.Parallel()
	p := guided.NewCalibration(told, range7500, trace.Gauge, guided.Scale{Common: []rig.Common{{Source: "scale of the reference", Relative: 5e-4}}})
	g := newGauge()
	for _, pa := range []float64{0, -1000, -2000, -3000} {
		text := map[float64]string{0: "0Pa", -1000: "-1kPa up", -2000: "−20 mbar up", -3000: "-3000Pa up"}[pa]
		r := p.Line(text, g.stay(0.99*pa, 2.5, 0))
		require.True(t, r.Accepted, "%s: %s", text, r.Text)
	}
	p.InputEnded()
	require.True(t, p.Done())
	r, err := p.Record()
	require.NoError(t, err)
	assert.InEpsilon(t, 1/0.99, r.Calibration.SpanFactor(), 1e-3)
	assert.GreaterOrEqual(t, r.Calibration.Span.U, 4.9e-4, "the reference's own scale is in it")
}

func TestAHeightDoesNotCount(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		text string
		see  func(g *gaugeAt) []trace.Reading
		says string
	}{
		"while the gauge still moves":         {"-100mm", func(g *gaugeAt) []trace.Reading { return g.stay(-970, 3, -5) }, "still moves"},
		"just after a knock":                  {"-100mm", func(g *gaugeAt) []trace.Reading { g.stay(-979, 2, 0); g.stay(-950, 0.3, 0); return g.stay(-979, 1, 0) }, "still moves"},
		"when the gauge is not heard":         {"-100mm", func(*gaugeAt) []trace.Reading { return nil }, "not heard"},
		"beyond the gauge's range":            {"-900mm", func(g *gaugeAt) []trace.Reading { return g.stay(-7400, 3, 0) }, "outside the gauge's range"},
		"when the gauge itself is at its end": {"-700mm", func(g *gaugeAt) []trace.Reading { g.status = trace.Saturated; return g.stay(-6800, 3, 0) }, "beyond its range"},
		"with the wrong sign":                 {"100mm", func(g *gaugeAt) []trace.Reading { return g.stay(-979, 3, 0) }, "typed with a minus"},
		"of another unit than was meant":      {"-10cm", func(g *gaugeAt) []trace.Reading { return g.stay(-98, 3, 0) }, "look at the height and its unit"},
		"that the gauge does not see":         {"-200mm", func(g *gaugeAt) []trace.Reading { return g.stay(12, 3, 0) }, "whether the hose is on"},
		"without a unit":                      {"-100", func(g *gaugeAt) []trace.Reading { return g.stay(-979, 3, 0) }, "no unit"},
		"as a pressure":                       {"-1kPa", func(g *gaugeAt) []trace.Reading { return g.stay(-1000, 3, 0) }, "length"},
		"in words":                            {"hello", func(g *gaugeAt) []trace.Reading { return g.stay(0, 3, 0) }, "type back or done"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p := newColumn()
			r := p.Line(c.text, c.see(newGauge()))
			assert.False(t, r.Accepted)
			assert.False(t, r.Wait)
			assert.Contains(t, r.Text, c.says)
			p.InputEnded()
			_, err := p.Record()
			require.ErrorContains(t, err, "no pair was taken")
		})
	}
}

func TestReadingsCountForOneHeightOnly(t *testing.T) {
	t.Parallel()
	p, g := newColumn(), newGauge()
	require.True(t, p.Line("0mm", g.stay(0, 1, 0)).Wait, "a second is too short")
	require.True(t, p.Line("0mm", g.stay(0, 1.5, 0)).Accepted)
	seen := g.stay(-979, 1, 0)
	require.True(t, p.Line("-100mm", seen).Wait, "the readings before belong to the height before")
	require.True(t, p.Line("-100mm", g.stay(-979, 1.2, 0)).Accepted)
}

// A hand-held gauge may print two numbers a second.
func TestASlowGaugeGetsTheTimeThatItNeeds(t *testing.T) {
	t.Parallel()
	p := newColumn()
	every := func(interval, seconds float64) (rs []trace.Reading) {
		for i := range int(seconds / interval) {
			rs = append(rs, trace.Reading{T: time.Duration(float64(i) * interval * 1e9), Pressure: float64(i % 2), Celsius: math.NaN()})
		}
		return rs
	}
	assert.True(t, p.Line("0mm", every(0.5, 3)).Wait)
	r := p.Line("0mm", every(0.5, 4.5))
	assert.True(t, r.Accepted, r.Text)
	r = newColumn().Line("0mm", every(2, 15))
	assert.False(t, r.Accepted)
	assert.Contains(t, r.Text, "too few readings")
}

func TestAPairCanBeTakenBack(t *testing.T) {
	t.Parallel()
	p, g := newColumn(), newGauge()
	require.False(t, p.Line("back", nil).Accepted)
	require.True(t, p.Line("0mm", g.stay(0, 3, 0)).Accepted)
	require.True(t, p.Line("back", nil).Accepted)
	require.Empty(t, p.Line("  ", nil).Text)
	p.InputEnded()
	_, err := p.Record()
	require.ErrorContains(t, err, "no pair was taken")
}

func TestTwoHeightsAreNoCalibration(t *testing.T) {
	t.Parallel()
	p, g := newColumn(), newGauge()
	require.True(t, p.Line("0mm", g.stay(0, 3, 0)).Accepted)
	require.True(t, p.Line("-200mm", g.stay(-1958, 3, 0)).Accepted)
	require.True(t, p.Line("-200mm", g.stay(-1958, 3, 0)).Accepted)
	require.True(t, p.Line("done", nil).Accepted)
	_, err := p.Record()
	require.ErrorContains(t, err, "two heights only")
}

func TestAnAbsoluteGaugeBeginsWithItsZero(t *testing.T) {
	t.Parallel()
	p := guided.NewCalibration(told, rig.Gauge{}, trace.Absolute, guided.Scale{Column: &water})
	g := newGauge()
	assert.Contains(t, p.Next(), "0mm")
	r := p.Line("-100mm", g.stay(98_300-979, 3, 0))
	require.Contains(t, r.Text, "the zero must come first")
	for _, line := range []struct {
		text string
		pa   float64
	}{{"0mm", 0}, {"-100mm", -978.5}, {"-200mm", -1957}, {"-300mm", -2935.5}} {
		r := p.Line(line.text, g.stay(98_300+line.pa, 3, 0))
		require.True(t, r.Accepted, r.Text)
	}
	p.InputEnded()
	record, err := p.Record()
	require.NoError(t, err)
	assert.InDelta(t, 1, record.Calibration.SpanFactor(), 2e-3)
}
