//go:build linux

package main

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/hold"
	"boretight/internal/trace"
)

func TestEveryReadingCountsFromTheFirstPictureWithIt(t *testing.T) {
	t.Parallel()
	begun := time.UnixMilli(1000)
	wrote := make([]time.Time, 7) // one each 10 ms
	for i := range wrote {
		wrote[i] = begun.Add(time.Duration(i) * 10 * time.Millisecond)
	}
	shown := [][2]float64{
		{0.01, 1100},               // what was there before: no reading of it counts
		{0.03, 1060}, {0.03, 1070}, // 2 and 3; the second picture has nothing new
		{0.05, 1080}, {0.08, 1100}, // 4 and 5, then 6; 7 and 8 were never written
	}
	ms := func(all ...int) (d []time.Duration) {
		for _, v := range all {
			d = append(d, time.Duration(v)*time.Millisecond)
		}
		return d
	}
	assert.Equal(t, ms(40, 30, 40, 30, 40), latenciesOf(shown, wrote, 10*time.Millisecond))
}

func TestARoundIsARestADrawAHoldAndAVent(t *testing.T) {
	t.Parallel()
	round, err := holding(100, 1)
	require.NoError(t, err)
	holds := hold.Find(trace.Trace{Kind: trace.Gauge, Readings: round})
	require.NotEmpty(t, holds)
	assert.Equal(t, hold.Vented, holds[0].Ending)
	assert.InDelta(t, 12, holds[0].Duration().Seconds(), 0.5)
	assert.Empty(t, hold.Find(trace.Trace{Kind: trace.Gauge, Readings: resting(100, 1)}))
}

func TestUsageIsThatOfTheProcess(t *testing.T) {
	t.Parallel()
	u, err := usageOf(os.Getpid())
	require.NoError(t, err)
	assert.Positive(t, u.rss)
	assert.GreaterOrEqual(t, u.high, u.rss)
	assert.Positive(t, u.file)
	_, err = usageOf(-1)
	assert.Error(t, err)
}

func TestAGaugeSpeaksWhenItIsAsked(t *testing.T) {
	t.Parallel()
	for _, over := range []string{"pty", "tcp"} {
		t.Run(over, func(t *testing.T) {
			t.Parallel()
			gs, err := openGauges(1, 100, over, true)
			require.NoError(t, err)
			require.NotEmpty(t, gs.addresses()[0])
			require.NoError(t, gs[0].speak(time.Now()))
			assert.Empty(t, gs[0].wrote(), "nobody has asked")
			require.NoError(t, gs.close())
		})
	}
	_, err := openGauges(1, 100, "carrier pigeon", false)
	assert.ErrorContains(t, err, "want pty or tcp")
}
