package main

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/trial"
)

// series writes a trace of three holds with so many seconds of rest and hold, at 100 Hz.
func series(t *testing.T, rest, held float64) string {
	t.Helper()
	const draw, after = 0.5, 2.5
	random := rand.New(rand.NewPCG(3, 3))
	shape := map[string]float64{"k": 0.05, "rest": rest, "draw": draw, "hold": held, "start": 2750}
	cycle := rest + draw + held + after
	var b strings.Builder
	b.WriteString("t_s,pressure_pa,temperature_c,status\n")
	for i := range int(3 * cycle * 100) {
		at := float64(i) / 100
		fmt.Fprintf(&b, "%.3f,%.1f,22.50,00\n", at, 13.6-deltaAt(shape, math.Mod(at, cycle))+random.NormFloat64())
	}
	path := filepath.Join(t.TempDir(), "series.csv")
	require.NoError(t, os.WriteFile(path, []byte(b.String()), 0o644))
	return path
}

// outcomes reads the holds that a command printed as JSON.
func outcomes(t *testing.T, printed string) []trial.Outcome {
	t.Helper()
	var all []trial.Outcome
	for line := range strings.Lines(printed) {
		var o trial.Outcome
		require.NoError(t, json.Unmarshal([]byte(line), &o))
		if o.Schema == trial.SchemaHold || o.Schema == trial.SchemaFit {
			all = append(all, o)
		}
	}
	return all
}

// The readings of a hold begin ten seconds before its draw, which may be in the middle of
// the hold before, or before the draw of that one.
func TestEachExportedHoldIsFoundAgainAlone(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ rest, held float64 }{
		"a hold begins in the middle of the hold before":    {1, 12},
		"a hold begins before the draw of the hold before":  {1, 4},
		"a hold begins in the rest":                         {9, 8},
		"a hold begins just when the one before was let go": {5, 6},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			path := filepath.Join(t.TempDir(), "l.boretight")
			told := []string{"--volume", "34.2ml", "--volume-u", "1%", "--bore", "9mm", "--temperature", "22.5C", "--span-u", "0.5%", "--json"}
			r := runHere(t.Context(), "", append([]string{"hold", "--gauge", "replay:" + series(t, c.rest, c.held) + "?speed=0", "--holds", "3", "--ledger", path}, told...)...)
			held := outcomes(t, r.out)
			require.Len(t, held, 3, r.err)
			for _, h := range held {
				file := filepath.Join(t.TempDir(), "hold.csv")
				exported := runHere(t.Context(), "", "export", "--hold", h.ID, "--ledger", path, "--out", file)
				require.Equal(t, done, exported.status, exported.err)
				again := outcomes(t, runHere(t.Context(), "", append([]string{"fit", file}, told...)...).out)
				require.Len(t, again, 1, "holds in the file")
				require.NotNil(t, h.LeakRate)
				require.NotNil(t, again[0].LeakRate)
				assert.InDelta(t, h.LeakRate.Value, again[0].LeakRate.Value, 0.01*h.LeakRate.U)
				assert.InDelta(t, h.LeakRate.U, again[0].LeakRate.U, 0.01*h.LeakRate.U)
			}
		})
	}
}
