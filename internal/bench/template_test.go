package bench_test

import (
	"math"
	"strings"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/air"
	"boretight/internal/bench"
	"boretight/internal/decay"
	"boretight/internal/rig"
)

// template is a bore of 20 ml, known to 15 % as a rectangle, so 1.73 ml. The rig is taken as
// 5 ± 2.5 ml where no blank tells it.
func template(t *testing.T) rig.Volume {
	t.Helper()
	v, err := rig.BoreVolume(air.Taper{Length: 20e-6 / (math.Pi / 4 * 81e-6), From: 9e-3, To: 9e-3})
	require.NoError(t, err)
	return v
}

func TestATemplatesVolumeCountsWhereNothingBetterIsKnown(t *testing.T) {
	const asks = "The volume is that of the catalog's bore"
	synctest.Test(t, func(t *testing.T) {
		s := untold(t)
		s.Template = template(t)
		h, kept := measure(t, suctionHold(), s, func(all map[rig.Kind]rig.Record) { delete(all, rig.KindVolume) })
		require.Positive(t, h.Pressing)
		assert.Contains(t, h.Notes[0], asks)
		told, err := bench.ReadTold(kept.begin.Setup)
		require.NoError(t, err)
		blank := onRecord()[rig.KindBlank].Blank.Volume
		assert.InEpsilon(t, 20e-6+blank.Value, told.Fit.Volume.Value, 1e-9)
		assert.Equal(t, "the blank", told.Rig["suction"].RigVolume)

		h, kept = measure(t, suctionHold(), s, func(all map[rig.Kind]rig.Record) { clear(all) })
		told, err = bench.ReadTold(kept.begin.Setup)
		require.NoError(t, err)
		assert.InEpsilon(t, 25e-6, told.Fit.Volume.Value, 1e-9, "no blank: a usual rig")
		assert.InDelta(t, math.Hypot(1.73e-6, 2.5e-6), told.Fit.Volume.U, 0.01e-6)
		assert.Contains(t, h.Notes[0], asks)

		for name, s := range map[string]bench.Settings{
			"one is on record": s, "one was told": func() bench.Settings {
				s := s
				s.Fit.Volume = decay.Input{Value: 34.2e-6, U: 0.3e-6}
				return s
			}(),
		} {
			h, _ := measure(t, suctionHold(), s, nil)
			assert.NotContains(t, strings.Join(h.Notes, " "), asks, name)
		}
	})
}
