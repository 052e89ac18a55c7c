package cadence_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"boretight/internal/gauge/cadence"
)

// source makes lines at true times and hands them over as a port does.
type source struct {
	rateHz  float64
	lump    float64 // s: lines wait for the next multiple of it
	jitter  float64 // s: mean of the system's delay, exponential
	hitch   float64 // share of reads that are late by another 5 to 40 ms
	lost    float64 // share of lines that never come
	ppm     float64
	seconds float64
	begin   float64
	wobble  float64 // share of the period by which each interval varies, one sided random
	seed    uint64
}

// sample is a line's true time and the one it was given.
type sample struct{ truth, given float64 }

// read is what one read brings.
type read struct {
	at     float64
	truths []float64
}

// reads simulates what the host reads.
func (s source) reads() []read {
	random := rand.New(rand.NewPCG(s.seed, 1))
	var out []read
	last := 0.0
	period := (1 + s.ppm*1e-6) / s.rateHz
	t := s.begin + 0.0037
	for n := 0; ; n++ {
		if s.wobble > 0 {
			t += period * (1 + s.wobble*(2*random.Float64()-1))
		} else {
			t = s.begin + 0.0037 + float64(n)*period
		}
		if t > s.begin+s.seconds {
			return out
		}
		if random.Float64() < s.lost {
			continue
		}
		due := t
		if s.lump > 0 {
			due = math.Ceil(t/s.lump) * s.lump
		}
		if k := len(out); k > 0 && out[k-1].at >= due {
			// Everything that is due before a read returns comes with it.
			out[k-1].truths = append(out[k-1].truths, t)
			continue
		}
		at := due + random.ExpFloat64()*s.jitter
		if random.Float64() < s.hitch {
			at += 0.005 + 0.035*random.Float64()
		}
		last = max(last, at)
		out = append(out, read{last, []float64{t}})
	}
}

// feed gives reads to a grid, which is never in doubt of them.
func feed(t require.TestingT, g *cadence.Grid, reads []read) []sample {
	var out []sample
	var times []time.Duration
	before := time.Duration(math.MinInt64)
	for _, r := range reads {
		times = g.Take(time.Duration(r.at*1e9), len(r.truths), times[:0])
		require.Len(t, times, len(r.truths))
		require.False(t, g.Doubtful(), "at %v s", r.at)
		for i, given := range times {
			require.Greater(t, given, before, "times rise strictly")
			before = given
			out = append(out, sample{r.truths[i], given.Seconds()})
		}
	}
	return out
}

// errors returns mean, RMS about it, and the largest distance from it, in s, from a
// time on.
func errors(samples []sample, from float64) (mean, rms, most float64) {
	n := 0.0
	for _, s := range samples {
		if s.truth >= from {
			n++
			mean += (s.given - s.truth - mean) / n
		}
	}
	for _, s := range samples {
		if s.truth >= from {
			d := s.given - s.truth - mean
			rms += d * d / n
			most = max(most, math.Abs(d))
		}
	}
	return mean, math.Sqrt(rms), most
}

// TestTimesOfLumpedLinesAreEvenedOut: a gauge's clock is 200 ppm off, the system's delay
// is 0.1 ms on average, and one read in 500 comes 5 to 40 ms late where hitches are told.
// Where a multiple of the lump is no multiple of few periods (50 Hz and 10 Hz, 16 ms),
// the delay of the earliest line itself drifts over 4 ms in some 20 s, which no
// observer of arrivals can see.
func TestTimesOfLumpedLinesAreEvenedOut(t *testing.T) {
	const ms = 1e-3
	for _, c := range []struct {
		rate, lump float64 // Hz, s
		lost       float64
		hitch      float64
		rms        float64 // allowed, s
	}{
		{10, 1 * ms, 0, 0, 0.3 * ms}, {50, 1 * ms, 0, 0, 0.3 * ms}, {100, 1 * ms, 0, 0, 0.3 * ms}, {1000, 1 * ms, 0, 0, 0.5 * ms},
		{10, 16 * ms, 0, 0, 2 * ms}, {50, 16 * ms, 0, 0, 2 * ms}, {100, 16 * ms, 0, 0, 1 * ms}, {1000, 16 * ms, 0, 0, 1 * ms},
		{10, 1 * ms, 0.03, 0, 0.5 * ms}, {50, 1 * ms, 0.03, 0, 0.5 * ms}, {100, 1 * ms, 0.03, 0, 0.5 * ms}, {1000, 1 * ms, 0.03, 0, 1 * ms},
		{10, 16 * ms, 0.03, 0, 2 * ms}, {50, 16 * ms, 0.03, 0, 2 * ms}, {100, 16 * ms, 0.03, 0, 3 * ms}, {1000, 16 * ms, 0.03, 0, 3 * ms},
		{10, 1 * ms, 0, 0.002, 0.5 * ms}, {50, 1 * ms, 0, 0.002, 0.5 * ms}, {100, 1 * ms, 0, 0.002, 0.6 * ms}, {1000, 1 * ms, 0, 0.002, 0.6 * ms},
		{10, 16 * ms, 0, 0.002, 2 * ms}, {50, 16 * ms, 0, 0.002, 2 * ms}, {100, 16 * ms, 0, 0.002, 1.5 * ms}, {1000, 16 * ms, 0, 0.002, 1 * ms},
	} {
		t.Run(fmt.Sprintf("%v Hz, lumps of %v ms, %v %% lost, %v %% late", c.rate, c.lump/ms, c.lost*100, c.hitch*100), func(t *testing.T) {
			var worst, most, arrived float64
			for seed := range uint64(3) {
				s := source{rateHz: c.rate, lump: c.lump, jitter: 0.1 * ms, hitch: c.hitch, lost: c.lost, ppm: 200, seconds: 30, seed: seed}
				var g cadence.Grid
				reads := s.reads()
				samples := feed(t, &g, reads)
				_, rms, far := errors(samples, 2)
				worst, most, arrived = max(worst, rms), max(most, far), max(arrived, raw(reads))
				assert.True(t, g.Even())
				gone := c.rate*s.seconds - float64(len(samples))
				assert.InDelta(t, gone, float64(g.Lost()), max(10, 0.6*gone), "seed %d", seed)
			}
			t.Logf("RMS %.2f ms, most %.1f ms; of arrival itself RMS %.2f ms", worst/ms, most/ms, arrived/ms)
			assert.Less(t, worst, c.rms)
		})
	}
}

// raw returns the error of arrival times alone.
func raw(reads []read) float64 {
	var out []sample
	for _, r := range reads {
		for _, truth := range r.truths {
			out = append(out, sample{truth, r.at})
		}
	}
	_, rms, _ := errors(out, 2)
	return rms
}

func TestSamplesOf16msLumpsAreFarBetterThanTheirArrival(t *testing.T) {
	reads := source{rateHz: 100, lump: 0.016, jitter: 0.1e-3, hitch: 0.002, ppm: 200, seconds: 30, seed: 9}.reads()
	var g cadence.Grid
	_, rms, _ := errors(feed(t, &g, reads), 2)
	assert.Less(t, rms, raw(reads)/4)
	assert.InEpsilon(t, 100, g.RateHz(), 1e-3)
}

// join puts streams one after another.
func join(sources ...source) []read {
	var out []read
	for _, s := range sources {
		out = append(out, s.reads()...)
	}
	return out
}

func TestAPauseIsAGapAndNoLoss(t *testing.T) {
	before := source{rateHz: 100, lump: 0.016, jitter: 1e-4, seconds: 5}
	after := before
	after.begin = 12.345
	var g cadence.Grid
	samples := feed(t, &g, join(before, after))
	mean, rms, _ := errors(samples, 14)
	assert.InDelta(t, 0, mean, 0.01)
	assert.Less(t, rms, 1e-3)
	for i, s := range samples {
		if i > 0 && s.truth > 12 && samples[i-1].truth < 12 {
			assert.InDelta(t, s.truth-samples[i-1].truth, s.given-samples[i-1].given, 0.02)
		}
	}
	assert.LessOrEqual(t, g.Lost(), uint64(1), "where the new grid begins can be off by a line")
}

func TestANewRateIsLearned(t *testing.T) {
	for _, rates := range [][2]float64{{10, 20}, {20, 10}, {100, 50}, {50, 100}, {100, 120}} {
		t.Run(fmt.Sprint(rates), func(t *testing.T) {
			var g cadence.Grid
			samples := feed(t, &g, join(
				source{rateHz: rates[0], lump: 0.001, jitter: 1e-4, seconds: 8},
				source{rateHz: rates[1], lump: 0.001, jitter: 1e-4, seconds: 12, begin: 8}))
			_, rms, _ := errors(samples, 13)
			assert.Less(t, rms, 1e-3)
			assert.InEpsilon(t, rates[1], g.RateHz(), 1e-2)
		})
	}
}

func TestAGaugeWithoutAnEvenRateIsTimedByArrival(t *testing.T) {
	var g cadence.Grid
	reads := source{rateHz: 20, lump: 0.001, jitter: 1e-4, wobble: 0.9, seconds: 60}.reads()
	changes, even := 0, true
	for _, r := range reads {
		g.Take(time.Duration(r.at*1e9), len(r.truths), nil)
		if g.Even() != even {
			changes, even = changes+1, g.Even()
		}
	}
	assert.False(t, even)
	assert.Equal(t, 1, changes, "found out once, and for good")
	g = cadence.Grid{}
	_, rms, most := errors(feed(t, &g, reads), 2)
	assert.Less(t, rms, 0.05, "while it was not, times were off by a period at most")
	assert.Less(t, most, 0.2)
}

func TestASlowGaugeIsTimedByArrival(t *testing.T) {
	var g cadence.Grid
	samples := feed(t, &g, source{rateHz: 1, lump: 0.016, seconds: 30}.reads())
	_, _, most := errors(samples, 0)
	assert.Less(t, most, 0.016)
	assert.Zero(t, g.RateHz())
	assert.True(t, g.Even())
}

func TestTimesRiseWhateverComes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var g cadence.Grid
		at := time.Duration(0)
		var times []time.Duration
		before := time.Duration(math.MinInt64)
		lost := uint64(0)
		for range rapid.IntRange(1, 400).Draw(t, "reads") {
			at += time.Duration(rapid.IntRange(0, 50_000_000).Draw(t, "gap"))
			n := rapid.IntRange(0, 20).Draw(t, "lines")
			times = g.Take(at, n, times[:0])
			require.Len(t, times, n)
			for _, given := range times {
				require.Greater(t, given, before)
				before = given
			}
			require.GreaterOrEqual(t, g.Lost(), lost, "a counter never goes back")
			lost = g.Lost()
		}
	})
}

func TestTheLinesOfTheFirstReadEndAtItsArrival(t *testing.T) {
	var g cadence.Grid
	times := g.Take(time.Second, 3, nil)
	require.Len(t, times, 3)
	assert.Equal(t, time.Second, times[2])
	assert.Less(t, times[0], times[1])
	assert.Less(t, times[1], times[2])
}
