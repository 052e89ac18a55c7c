package gauge_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge"
	"boretight/internal/trace"
)

// recording writes a trace file of 2 s at 100 Hz whose time begins at 5 s.
func recording(t *testing.T) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("t_s,pressure_pa,temperature_c\n")
	for i := range 201 {
		b.WriteString(time.Duration(5_000_000_000 + i*10_000_000).String())
		b.WriteString(",-2500,21.5\n")
	}
	path := filepath.Join(t.TempDir(), "hold.csv")
	text := strings.ReplaceAll(b.String(), "s,-", ",-")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

func TestARecordingIsPlayedAtItsPace(t *testing.T) {
	path := recording(t)
	for query, want := range map[string]time.Duration{
		"": 2 * time.Second, "?speed=4": 500 * time.Millisecond, "?speed=0": 0,
	} {
		synctest.Test(t, func(t *testing.T) {
			sink, began := newRecorder(), time.Now()
			g := open(t, "replay:"+path+query)
			err := g.Run(t.Context(), sink)
			require.ErrorIs(t, err, gauge.ErrEnded)
			assert.EqualError(t, err, "gauge replay:"+path+query+": the recording has ended")
			assert.Equal(t, want, time.Since(began))
			require.Len(t, sink.readings, 201)
			assert.Equal(t, []gauge.Identity{{Kind: trace.Gauge, RateHz: 100, Known: true}}, sink.identities)
			assert.Zero(t, sink.readings[0].T)
			assert.Equal(t, trace.Reading{T: 2 * time.Second, Pressure: -2500, Celsius: 21.5}, sink.readings[200])
			assert.Equal(t, gauge.PhaseEnded, g.Stats().Phase)
			assert.EqualValues(t, 201, g.Stats().Readings)
		})
	}
}

func TestARecordingStopsWithItsContext(t *testing.T) {
	path := recording(t)
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		sink := newRecorder()
		require.NoError(t, open(t, "replay:"+path).Run(ctx, sink))
		assert.InDelta(t, 100, sink.count(), 3, "half of it, to a block")
	})
}

func TestRecordingsThatCannotBeRead(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.csv")
	err := open(t, "replay:"+path).Run(t.Context(), newRecorder())
	assert.ErrorIs(t, err, os.ErrNotExist)
	require.NoError(t, os.WriteFile(path, []byte("no,trace\n1,2\n"), 0o600))
	g := open(t, "replay:"+path)
	err = g.Run(t.Context(), newRecorder())
	assert.ErrorContains(t, err, "gauge replay:"+path+": ")
	assert.Equal(t, gauge.PhaseLost, g.Stats().Phase)
}
