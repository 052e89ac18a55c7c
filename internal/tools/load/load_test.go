//go:build linux

package main

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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
	assert.Zero(t, bore(0))
	assert.Zero(t, bore(restTime-1))
	assert.InDelta(t, drawnPa/2, bore(restTime+drawTime/2), 0.01)
	assert.InDelta(t, drawnPa, bore(restTime+drawTime), 0.01)
	assert.InDelta(t, drawnPa*0.6188, bore(restTime+drawTime+holdTime), 0.1) // e^(-12/25)
	assert.InDelta(t, 0, bore(roundTime-1), 0.01)
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

