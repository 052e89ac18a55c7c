package rig_test

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"boretight/internal/air"
	"boretight/internal/rig"
)

// wild draws a usual number nine times in ten, else what a slip of the finger makes of it.
func wild(usual float64) *rapid.Generator[float64] {
	slips := rapid.OneOf(
		rapid.Float64(), rapid.SampledFrom([]float64{0, -usual, 1e6 * usual, 1e-6 * usual, math.NaN(), math.Inf(1), math.Inf(-1)}),
	)
	return rapid.Custom(func(t *rapid.T) float64 {
		if rapid.IntRange(0, 9).Draw(t, "slip") == 9 {
			return slips.Draw(t, "slipped")
		}
		return usual * rapid.Float64Range(0.9, 1.1).Draw(t, "share")
	})
}

func wildly(t *rapid.T, name string, value, u float64) rig.Measured {
	return rig.Measured{Value: wild(value).Draw(t, name), U: wild(u).Draw(t, "u of "+name)}
}

// fine holds a result to what a reader may rely on.
func fine(t *rapid.T, r rig.Result) {
	assert.False(t, math.IsNaN(r.Value) || math.IsInf(r.Value, 0), "value")
	assert.False(t, math.IsNaN(r.U) || math.IsInf(r.U, 0) || r.U < 0, "u")
	_, err := json.Marshal(r)
	require.NoError(t, err)
}

func TestNoFigureMakesAQuietWrongVolume(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		side := func(name string, pressure float64) rig.Side {
			return rig.Side{Pressure: wildly(t, name, pressure, 1), Rate: wildly(t, name+" rate", 20, 0.5), Dof: 50, Wait: wild(1).Draw(t, "wait")}
		}
		s := rig.SyringeStep{
			Step: wildly(t, "step", 1e-6, 1e-8), Dead: wildly(t, "dead", 1e-7, 1e-8),
			Before: side("before", -600), After: side("after", -3000),
			Ambient: wildly(t, "ambient", 101325, 100), SpanU: wild(0.01).Draw(t, "span"),
			Bore: wildly(t, "bore", 12e-3, 1e-3), Temperature: wild(295).Draw(t, "temperature"),
			StaysOpen: rapid.Bool().Draw(t, "open"),
		}
		v, err := s.Volume()
		if err != nil {
			assert.Zero(t, v.Value)
			return
		}
		fine(t, v.Result)
		assert.Positive(t, v.Value)
		assert.LessOrEqual(t, v.Relative(), 0.15)
	})
}

// wildRate may be anything, in span and degrees of freedom too.
func wildRate(t *rapid.T, name string, value, u float64) rig.Rate {
	m := wildly(t, name, value, u)
	return rig.Rate{Value: m.Value, Own: m.U, Span: wild(0.01).Draw(t, name+" span"), Dof: wild(2).Draw(t, name+" dof")}
}

func TestNoFigureMakesAQuietWrongAddedLeak(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := addedNeedle(50e-6, 1e-6)
		a.Leak.Throughput = wildly(t, "throughput", 3.5e-3, 3.5e-5)
		a.Leak.Inertial = wildly(t, "inertial", 0.2, 0.1)
		a.Room.Ambient, a.Room.Temperature = wildly(t, "ambient", 101325, 100), wildly(t, "temperature", 293, 1)
		a.Without, a.With = wildRate(t, "without", 30, 0.1), wildRate(t, "with", 100, 0.1)
		a.Dead = wildly(t, "dead", 1e-6, 1e-7)
		v, err := a.Volume()
		if err != nil {
			assert.Zero(t, v.Value)
			return
		}
		fine(t, v.Result)
		assert.Positive(t, v.Value)
	})
}

func TestNoFigureMakesAQuietWrongCalibration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var pairs []rig.Pair
		for i := range rapid.IntRange(0, 8).Draw(t, "pairs") {
			p := rig.Pair{
				Reference: wild(-600*float64(i)).Draw(t, "reference"), ReferenceU: wild(3).Draw(t, "reference u"),
				ReadingU: wild(1).Draw(t, "reading u"), Course: rapid.SampledFrom([]rig.Course{"", rig.Up, rig.Down}).Draw(t, "course"),
			}
			p.Reading = p.Reference * rapid.Float64Range(0.98, 1.02).Draw(t, "gain")
			pairs = append(pairs, p)
		}
		c, err := rig.Calibrate(suctionGauge, pairs, rig.Common{Source: "density", Relative: 1e-3}, rig.Common{Source: "meniscus", Offset: 2})
		if err != nil {
			return
		}
		fine(t, c.Span)
		fine(t, c.Correction(-2500))
		assert.GreaterOrEqual(t, c.SpanU(), 1e-3*0.9, "what all share is never lost")
		_, err = json.Marshal(c)
		require.NoError(t, err)
	})
}

func TestNoFigureMakesAQuietWrongBlank(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, err := rig.NewBlank(thisRig, air.Suction, wild(2500).Draw(t, "at"), wildRate(t, "rate", 5, 0.2), wildly(t, "volume", 8e-6, 2e-7))
		if err != nil {
			return
		}
		fine(t, b.LeakRate)
	})
}
