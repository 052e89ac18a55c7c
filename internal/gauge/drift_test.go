package gauge_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge"
)

// arrivals plays readings, 10 ms apart on a gauge's clock that runs at ratio, each
// late by what delay says of its host time, in order.
func arrivals(w *gauge.ClockWatch, from, to time.Duration, ratio float64, delay func(host time.Duration) time.Duration) {
	var came time.Duration
	lump := uint64(0)
	for host := from; host < to; host += 10 * time.Millisecond {
		came = max(came, host+delay(host))
		next := host + 10*time.Millisecond
		if lump++; next+delay(next) > came {
			w.Arrived(time.Duration(float64(host)*ratio), came, lump)
			lump = 0
		}
	}
}

// delays are ways in which readings are late.
func delays(random *rand.Rand) map[string]func(time.Duration) time.Duration {
	const ms = time.Millisecond
	lumps := func(every time.Duration) func(time.Duration) time.Duration {
		return func(host time.Duration) time.Duration { return every - host%every }
	}
	return map[string]func(time.Duration) time.Duration{
		"at once":             func(time.Duration) time.Duration { return 0 },
		"a pseudo-terminal":   func(time.Duration) time.Duration { return time.Duration(random.ExpFloat64() * 0.1e6) },
		"a bridge of 16 ms":   lumps(16*ms + 7*time.Microsecond),
		"lumps of 250 ms":     lumps(250*ms + 31*time.Microsecond),
		"a busy computer":     func(time.Duration) time.Duration { return time.Duration(random.ExpFloat64() * 10e6) },
		"stalls of 3 seconds": func(h time.Duration) time.Duration { return max(0, 3*time.Second-h%(20*time.Second)) },
	}
}

func TestTheDriftOfAGaugesClockIsFound(t *testing.T) {
	for _, ppm := range []float64{0, 40, -300, 1000, -2500, 20_000} {
		for name := range delays(nil) {
			// Random numbers of its own, whatever the order of the map.
			delay := delays(rand.New(rand.NewPCG(7, 0)))[name]
			for _, long := range []time.Duration{35 * time.Second, 10 * time.Minute} {
				w := gauge.NewClockWatch()
				arrivals(w, 0, long, 1+ppm*1e-6, delay)
				c := w.Clock()
				require.True(t, c.Known, "%s, %g ppm, %v", name, ppm, long)
				assert.InDelta(t, ppm, c.DriftPPM, 2*c.UPPM, "%s, %g ppm, %v, u %g", name, ppm, long, c.UPPM)
				assert.Zero(t, c.Ratio)
				if long > time.Minute {
					assert.Less(t, c.UPPM, 60.0, "%s: ten minutes tell much", name)
				}
			}
		}
	}
}

func TestTheDriftIsNotToldBeforeHalfAMinute(t *testing.T) {
	w := gauge.NewClockWatch()
	arrivals(w, 0, 29*time.Second, 1.001, func(time.Duration) time.Duration { return 0 })
	assert.Equal(t, gauge.Clock{}, w.Clock())
	assert.Empty(t, w.Clock().Trouble())
}

func TestADriftIsWarnedOfWhereItCounts(t *testing.T) {
	none := func(time.Duration) time.Duration { return 0 }
	for ppm, want := range map[float64]string{
		0:     "",
		450:   "",
		-450:  "",
		1000:  "the gauge's clock is 1000 ± 2 ppm fast, and leakage rates are off by as much: 0.10 %",
		-1000: "the gauge's clock is 1000 ± 2 ppm slow, and leakage rates are off by as much: 0.10 %",
	} {
		w := gauge.NewClockWatch()
		arrivals(w, 0, 2*time.Minute, 1+ppm*1e-6, none)
		assert.Equal(t, want, w.Clock().Trouble(), ppm)
	}
	assert.Empty(t, gauge.Clock{Known: true, DriftPPM: 800, UPPM: 200}.Trouble(), "not sure enough")
}

func TestAClockOfAnotherUnitIsToldWithinSeconds(t *testing.T) {
	for ratio, want := range map[float64]string{
		0.001: "the gauge's clock runs 1000 times as slow as this computer's, so every time and leakage rate is wrong by as much: it seems to count milliseconds in t_us, which must be microseconds",
		1000:  "the gauge's clock runs 1000 times as fast as this computer's, so every time and leakage rate is wrong by as much: its t_us must count microseconds",
		1e-6:  "the gauge's clock runs more than 100000 times as slow as this computer's, so every time and leakage rate is wrong by as much: its t_us must count microseconds",
		2:     "the gauge's clock runs 2.0 times as fast as this computer's, so every time and leakage rate is wrong by as much: its t_us must count microseconds",
		0.5:   "the gauge's clock runs 2.0 times as slow as this computer's, so every time and leakage rate is wrong by as much: its t_us must count microseconds",
	} {
		w := gauge.NewClockWatch()
		arrivals(w, 0, 9*time.Second, ratio, func(time.Duration) time.Duration { return 0 })
		assert.Equal(t, want, w.Clock().Trouble(), ratio)
	}
}

func TestAClockThatStandsStillIsTold(t *testing.T) {
	for _, ratio := range []float64{0, 1e-9} {
		w := gauge.NewClockWatch()
		arrivals(w, 0, 9*time.Second, ratio, func(time.Duration) time.Duration { return 0 })
		assert.Equal(t, gauge.Clock{Still: true}, w.Clock())
		assert.Equal(t, "the gauge's clock stands still: t_us must count microseconds", w.Clock().Trouble())
		arrivals(w, 9*time.Second, 12*time.Second, 1, func(time.Duration) time.Duration { return 0 })
		assert.Empty(t, w.Clock().Trouble(), "until it moves")
	}
}

func TestAComputerThatSleptIsNoDrift(t *testing.T) {
	for _, jump := range []time.Duration{time.Hour, -time.Hour, 200 * time.Millisecond} {
		w := gauge.NewClockWatch()
		none := func(time.Duration) time.Duration { return 0 }
		arrivals(w, 0, 40*time.Second, 1, none)
		require.True(t, w.Clock().Known)
		for host := 40 * time.Second; host < 120*time.Second; host += 10 * time.Millisecond {
			w.Arrived(host-jump, host, 1) // the gauge stood still, or went ahead
		}
		c := w.Clock()
		require.True(t, c.Known, jump)
		assert.InDelta(t, 0, c.DriftPPM, 2*c.UPPM, "jump %v", jump)
		assert.Less(t, c.UPPM, 10.0, "what was before the jump is forgotten")
		assert.Empty(t, c.Trouble())
	}
}

func TestARestartOfTheClockBeginsAnew(t *testing.T) {
	w := gauge.NewClockWatch()
	none := func(time.Duration) time.Duration { return 0 }
	arrivals(w, 0, 40*time.Second, 1, none)
	w.Restart()
	assert.False(t, w.Clock().Known)
	arrivals(w, 0, 40*time.Second, 1, none)
	assert.False(t, math.IsNaN(w.Clock().DriftPPM))
	assert.True(t, w.Clock().Known)
}
