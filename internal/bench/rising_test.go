package bench_test

import (
	"io"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/trace"
)

func TestAReadingWhoseTimeDoesNotRiseIsNotRecorded(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var twice []trace.Reading
		once := oneHold(2, 2750, 0.04, 4, 4)
		for _, r := range once {
			twice = append(twice, r, r)
		}
		sink := newMemorySink()
		_, events := run(t, bench.Options{
			Sources:  []bench.Source{{Name: "upper", Gauge: &scripted{readings: twice}}},
			Settings: settings(t),
		}, sink)
		holds := dataOf[bench.HoldData](events)
		require.Len(t, holds, 1)
		kept := sink.hold(holds[0].ID).readings
		require.Greater(t, len(kept), 500)
		assert.LessOrEqual(t, len(kept), len(once))
		assert.NoError(t, trace.Trace{Readings: kept}.Write(io.Discard))
	})
}
