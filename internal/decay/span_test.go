package decay_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
)

// A gauge that shows every difference a sixth too small, and a calibration that says
// so: the result is that of a true gauge, and the zero and the curve are what the
// gauge itself shows. A hole's leak sees the span; a thin gap's would not.
func TestACalibratedSpanMakesTheResultThatOfATrueGauge(t *testing.T) {
	const span = 1.2
	h, truth := found(t, scene(t, 12, 0.9))
	short := *h
	short.Readings = slices.Clone(h.Readings)
	for i := range short.Readings {
		short.Readings[i].Pressure = h.RestLevel + (h.Readings[i].Pressure-h.RestLevel)/span
	}
	short.Noise /= span
	setup := told(truth)
	want := decay.Fit(h, setup)
	uncorrected := decay.Fit(&short, setup)
	setup.Span = span
	got := decay.Fit(&short, setup)

	require.NotNil(t, got.LeakRate)
	assert.InEpsilon(t, want.LeakRate.Value, got.LeakRate.Value, 1e-3)
	assert.InEpsilon(t, want.LeakRate.U, got.LeakRate.U, 1e-2)
	assert.InEpsilon(t, want.DeltaStart, got.DeltaStart, 1e-3)
	assert.InDelta(t, want.Zero.Value, got.Zero.Value, want.Zero.U)
	assert.InEpsilon(t, want.Zero.U/span, got.Zero.U, 0.05)
	middle := len(got.Curve) / 2
	assert.InEpsilon(t, (want.Curve[middle].Pressure-h.RestLevel)/span, got.Curve[middle].Pressure-h.RestLevel, 1e-3)
	assert.Less(t, uncorrected.LeakRate.Value, 0.95*want.LeakRate.Value, "else the test shows nothing")
}
