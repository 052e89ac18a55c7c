package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/trial"
)

// TestFitOnAnAbsoluteGauge: without --ambient the rest before the draw gives it, and the
// result is that of a gauge pressure at the same place.
func TestFitOnAnAbsoluteGauge(t *testing.T) {
	t.Parallel()
	const k, volume, ambient, start, at = 0.05, 34.2e-6, 95000.0, 2750.0, 2500.0
	below := func(t float64) float64 {
		switch e := math.Exp(-k * (t - 2.6)); {
		case t < 2:
			return 0
		case t < 2.6:
			return start * (t - 2) / 0.6
		case t < 14.6:
			return 2 * ambient * start * e / (2*ambient - start + start*e) // laminar, isothermal
		}
		return 0
	}
	var file strings.Builder
	file.WriteString("t_s,absolute_pa\n")
	for i := range 1800 {
		noise := 0.5 * float64(i*i*37%181-90) / 90
		fmt.Fprintf(&file, "%.2f,%.2f\n", float64(i)/100, ambient-below(float64(i)/100)+noise)
	}
	path := filepath.Join(t.TempDir(), "a.csv")
	require.NoError(t, os.WriteFile(path, []byte(file.String()), 0o600))

	r := runHere(t.Context(), "", "fit", "--volume", "34.2ml", "--volume-u", "0.1ml", "--bore", "0.5mm",
		"--temperature", "22.5C", "--span-u", "0", "--json", path)
	require.Equal(t, done, r.status, r.err)
	var o trial.Outcome
	require.NoError(t, json.Unmarshal([]byte(r.out), &o))
	require.NotNil(t, o.LeakRate, "%v", o.Notes)
	truth := volume * k * at * (2*ambient - at) / (2 * ambient)
	assert.LessOrEqual(t, o.LeakRate.Low, truth)
	assert.GreaterOrEqual(t, o.LeakRate.High, truth)
	assert.Equal(t, "suction", o.Sign)
	assert.InDelta(t, start, o.Hold.DeltaStart, 20, "pressures are shown against the room")
	assert.Contains(t, o.Notes, "The ambient pressure is the gauge's own at rest: 95.00 kPa.")
}
