package rig_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"boretight/internal/rig"
)

var suctionGauge = rig.Gauge{Min: -7500, Max: 7500, Resolution: 0.5}

// upAndDown are heights in m as a person would take them, in suction.
var upAndDown = []struct {
	height float64
	course rig.Course
}{
	{0, rig.Up}, {-0.1, rig.Up}, {-0.2, rig.Up}, {-0.3, rig.Up}, {-0.4, rig.Up},
	{-0.4, rig.Down}, {-0.3, rig.Down}, {-0.2, rig.Down}, {-0.1, rig.Down}, {0, rig.Down},
}

// levels are what a gauge with these faults reads at upAndDown.
func levels(c rig.Column, gain, offset, hysteresis float64) []rig.Level {
	var all []rig.Level
	for _, h := range upAndDown {
		reading := offset + gain*c.Difference(h.height).Value
		if h.course == rig.Down {
			reading -= hysteresis
		}
		all = append(all, rig.Level{Height: h.height, Reading: reading, ReadingU: 0.3, Course: h.course})
	}
	return all
}

func TestCalibrationFindsGainAndOffset(t *testing.T) {
	c, err := rig.CalibrateAgainst(benchColumn(), suctionGauge, levels(benchColumn(), 0.97, 12, 0))
	require.NoError(t, err)
	assert.InEpsilon(t, 1/0.97, c.SpanFactor(), 1e-9)
	for _, truth := range []float64{0, -1000, -3900} {
		reading := 12 + 0.97*truth
		assert.InDelta(t, truth, reading+c.Correction(reading).Value, 1e-6)
	}
	assert.Equal(t, 5, c.Heights)
	assert.Equal(t, 10, c.Pairs)
	assert.InDelta(t, 0, c.Hysteresis, 1e-6)
	assert.InDelta(t, 0, c.Nonlinearity, 1e-6)
	assert.Less(t, c.SpanU(), 0.003)
	assert.InEpsilon(t, math.Hypot(c.SpanU(), 0.03), c.SpanUUncorrected(), 1e-9)
	assert.Empty(t, c.Doubts)
}

// What all heights share is not averaged away: with a scale wrong by 1 % the slope is
// unknown to 1 %, however many heights are taken; a meniscus moves the line only.
func TestCommonErrorsStayCommon(t *testing.T) {
	column := benchColumn()
	column.RulerU, column.MeniscusU = 0.01, 2e-3
	few := levels(column, 1, 0, 0)
	many := append(append(append([]rig.Level{}, few...), few...), few...)
	a, err := rig.CalibrateAgainst(column, suctionGauge, few)
	require.NoError(t, err)
	b, err := rig.CalibrateAgainst(column, suctionGauge, many)
	require.NoError(t, err)
	for _, c := range []rig.Calibration{a, b} {
		assert.InDelta(t, 0.01, math.Sqrt(c.Shared.Slope), 1e-4)
		assert.InEpsilon(t, 2e-3*9783, c.Correction(0).U, 0.05, "at zero only the meniscus is left")
		assert.Equal(t, "scale of the ruler", c.Span.Budget[0].Source)
		for _, line := range c.Span.Budget {
			assert.NotEqual(t, "meniscus", line.Source)
		}
	}
	assert.Less(t, b.Line.Covariance.Slope, 0.4*a.Line.Covariance.Slope, "scatter is averaged")
}

func TestMonteCarloAgreesWithTheCalibration(t *testing.T) {
	const trials, gain = 3000, 1.02
	column := benchColumn()
	column.MeniscusU = 1e-3
	column.RulerU = 2e-3
	clean, err := rig.CalibrateAgainst(column, rig.Gauge{}, levels(column, gain, 3, 0))
	require.NoError(t, err)

	random := rand.New(rand.NewPCG(3, 1))
	spans, corrections := make([]float64, trials), make([]float64, trials)
	for i := range trials {
		scale, offset := 1.0, 0.0
		for _, c := range column.Common() {
			scale += c.Relative * random.NormFloat64()
			offset += c.Offset * random.NormFloat64()
		}
		var x, y, u []float64
		for _, l := range levels(column, gain, 3, 0) {
			p := column.Pair(l.Height, l.Reading, l.ReadingU, l.Course)
			x = append(x, p.Reading+p.ReadingU*random.NormFloat64())
			y = append(y, p.Reference*scale+offset+p.ReferenceU*random.NormFloat64()-x[len(x)-1])
			u = append(u, math.Hypot(p.ReferenceU, p.ReadingU))
		}
		l, err := rig.FitLine(x, y, u, 0)
		require.NoError(t, err)
		spans[i], corrections[i] = 1+l.Slope, l.Value(-2500)
	}
	mean, u := stat.MeanStdDev(spans, nil)
	assert.InDelta(t, clean.Span.Value, mean, 4*u/math.Sqrt(trials))
	assert.InEpsilon(t, clean.Span.U, u, 0.06, "a standard deviation of 3,000 is known to 1.3 %")
	mean, u = stat.MeanStdDev(corrections, nil)
	at := clean.Correction(-2500)
	assert.InDelta(t, at.Value, mean, 4*u/math.Sqrt(trials))
	assert.InEpsilon(t, at.U, u, 0.06)
}

func TestHysteresisIsSeenAndCounts(t *testing.T) {
	without, err := rig.CalibrateAgainst(benchColumn(), suctionGauge, levels(benchColumn(), 1, 0, 0))
	require.NoError(t, err)
	with, err := rig.CalibrateAgainst(benchColumn(), suctionGauge, levels(benchColumn(), 1, 0, 40))
	require.NoError(t, err)
	assert.InEpsilon(t, 40, with.Hysteresis, 0.01)
	assert.Greater(t, with.SpanU(), without.SpanU())
	assert.InEpsilon(t, with.Hysteresis/(with.To-with.From)/math.Sqrt(3), line(with.Span, "hysteresis"), 1e-9)
	assert.InEpsilon(t, with.Hysteresis/2/math.Sqrt(3), line(with.Correction(-2000), "hysteresis"), 1e-9)
	assert.Contains(t, with.Doubts[0]+with.Doubts[len(with.Doubts)-1], "Rising and falling")
}

func TestRepeatabilityIsThatAtOneHeight(t *testing.T) {
	var pairs []rig.Pair
	for _, reference := range []float64{0, 1000, 2000} {
		for _, off := range []float64{-2, 0, 2} {
			pairs = append(pairs, rig.Pair{Reference: reference, Reading: reference + off})
		}
	}
	c, err := rig.Calibrate(rig.Gauge{}, pairs)
	require.NoError(t, err)
	assert.InEpsilon(t, 2, c.Repeatability, 1e-5)
	assert.Equal(t, 3, c.Heights)
}

func TestScatterIsNeverFinerThanTheGaugesSteps(t *testing.T) {
	var pairs []rig.Pair
	for _, reference := range []float64{0, 1000, 2000, 3000} {
		pairs = append(pairs, rig.Pair{Reference: reference, Reading: reference})
	}
	c, err := rig.Calibrate(rig.Gauge{Resolution: 10}, pairs)
	require.NoError(t, err)
	assert.InEpsilon(t, 10/math.Sqrt(12)/math.Sqrt(5e6), c.SpanU(), 1e-9)
}

func TestFewPairsWidenTheSpan(t *testing.T) {
	pairs := []rig.Pair{{Reference: 0, Reading: 1}, {Reference: 1000, Reading: 999}, {Reference: 2000, Reading: 2001}}
	c, err := rig.Calibrate(rig.Gauge{}, pairs)
	require.NoError(t, err)
	assert.InDelta(t, 1, c.Span.Dof, 1e-9)
	assert.InEpsilon(t, c.Span.Relative()*12.706/1.960, c.SpanU(), 1e-3)
	assert.NotEmpty(t, c.Doubts)
}

func TestCalibrationIsRefused(t *testing.T) {
	at := func(references ...float64) (all []rig.Pair) {
		for _, r := range references {
			all = append(all, rig.Pair{Reference: r, Reading: r * 1.01})
		}
		return all
	}
	for name, c := range map[string]struct {
		pairs []rig.Pair
		found string
	}{
		"on a course that goes nowhere":           {[]rig.Pair{{Course: "sideways"}}, `course "sideways"`},
		"without pairs":                           {nil, "no pairs"},
		"at two heights only":                     {at(0, 2000, 0, 2000, 2001), "two heights only"},
		"at one height only":                      {at(2000, 2000, 2000), "all 3 pairs"},
		"at heights crowded on one side":          {at(2000, 2100, 2200, 2300), "lie on one side"},
		"at heights beyond the gauge":             {at(0, -4000, -8000), "outside the gauge's range"},
		"where the reading is at the gauge's end": {[]rig.Pair{{Reference: 0}, {Reference: 7000, Reading: 7700}, {Reference: 3000, Reading: 3000}}, "outside the gauge's range"},
		"with something that is no number":        {at(0, 1000, math.NaN()), "not a number"},
		"with an uncertainty below zero":          {[]rig.Pair{{ReadingU: -1}, {Reference: 1, Reading: 1}, {Reference: 2, Reading: 2}}, "below zero"},
		"with references in another unit":         {[]rig.Pair{{Reference: 0}, {Reference: 1, Reading: 1000}, {Reference: 2, Reading: 2000}}, "less than half"},
		"with readings of the other sign":         {[]rig.Pair{{Reference: 0}, {Reference: 1000, Reading: -1000}, {Reference: 2000, Reading: -2000}}, "suction is negative"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := rig.Calibrate(suctionGauge, c.pairs)
			var refusal *rig.Refusal
			require.ErrorAs(t, err, &refusal)
			assert.ErrorContains(t, err, c.found)
		})
	}
}

func TestCorrectionOutsideTheRangeIsDoubted(t *testing.T) {
	c, err := rig.CalibrateAgainst(benchColumn(), suctionGauge, levels(benchColumn(), 1, 0, 0))
	require.NoError(t, err)
	assert.Empty(t, c.Correction(-2500).Doubts)
	assert.NotEmpty(t, c.Correction(-5500).Doubts)
	assert.NotEmpty(t, c.Correction(+2500).Doubts)
}

func TestAnyGainIsRecovered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gain := rapid.Float64Range(0.8, 1.2).Draw(t, "gain")
		offset := rapid.Float64Range(-50, 50).Draw(t, "offset")
		n := rapid.IntRange(3, 9).Draw(t, "heights")
		var pairs []rig.Pair
		for i := range n {
			reference := -float64(i) * rapid.Float64Range(300, 500).Draw(t, "step")
			pairs = append(pairs, rig.Pair{Reference: reference, ReferenceU: 3, Reading: offset + gain*reference, ReadingU: 1})
		}
		c, err := rig.Calibrate(rig.Gauge{}, pairs)
		require.NoError(t, err)
		assert.InEpsilon(t, 1/gain, c.SpanFactor(), 1e-9)
		assert.Positive(t, c.SpanU())
	})
}
