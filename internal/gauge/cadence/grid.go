package cadence

import (
	"math"
	"time"
)

// mode says where times come from.
type mode uint8

const (
	learning mode = iota // arrival, while the period is being learned
	tracking             // the grid
	uneven               // arrival, because there is no grid
)

const (
	// pauseSeconds and pausePeriods: a longer pause begins a new grid.
	pauseSeconds = 1.0
	pausePeriods = 20
	// unevenSeconds is how long a gauge without an even rate is left alone before its
	// rate is looked for again.
	unevenSeconds = 10.0
	// heldReads is how long a grid must hold to show that the rate is even after all.
	heldReads = 128
	// maxAttempts in attemptSeconds: so many searches for a rate show that there is none.
	maxAttempts    = 3
	attemptSeconds = 60.0
	// leastStep parts two times that would be equal or in the wrong order, so that
	// they can be written to a file whose times must rise.
	leastStep = time.Microsecond
	// waitedSeconds is the length of a read that shows a stall, and missingSeconds and
	// missingPeriods what must be missing before it to show that a buffer ran over.
	waitedSeconds  = 0.25
	missingSeconds = 0.1
	missingPeriods = 3
	// squeezed is by how much times may be put off so that they rise. Beyond, they say
	// nothing of a rate any more.
	squeezed = 500 * time.Millisecond
)

// Grid turns arrival times into sample times. The zero value is ready.
type Grid struct {
	mode     mode
	begun    bool
	n        int64   // number of the last line, lost ones included
	lastA    float64 // last arrival, s
	lastT    time.Duration
	doubtful bool // see Doubtful

	points   []point // of the present search for a period
	attempts []float64
	since    float64 // when mode became uneven
	odd      bool    // it did, and there has been no grid that held since
	held     int     // reads that the present grid has held for

	line  line // the grid: where line n is
	lags  lags
	lower envelope
	lost  losses
	early float64 // recent lines that came too early for the count, fading
	gone  float64 // recent share of lost lines, fading
}

// point is a line's number and its arrival in s.
type point struct {
	n int64
	t float64
}

// line is t = t0 + (n − n0)·period.
type line struct {
	n0         int64
	t0, period float64
}

func (l line) at(n int64) float64 { return l.t0 + float64(n-l.n0)*l.period }

// Even reports whether the gauge keeps an even rate, as far as known: one that did not is
// believed again when a grid has held for a while.
func (g *Grid) Even() bool { return !g.odd }

// RateHz returns the rate, 0 while it is not known.
func (g *Grid) RateHz() float64 {
	if g.mode != tracking {
		return 0
	}
	return 1 / g.lower.period
}

// Lost returns how many lines are missing between those that came.
func (g *Grid) Lost() uint64 { return g.lost.stood }

// Doubtful reports whether the last Take's lines had waited for long, and more of them
// came than the time since the last ones holds, or fewer: some that waited were lost,
// but not which.
func (g *Grid) Doubtful() bool { return g.doubtful }

// Take notes that a read, which returned at the given time of the host's monotonic
// clock, brought so many lines, and appends their sample times on the same clock.
func (g *Grid) Take(at time.Duration, lines int, times []time.Duration) []time.Duration {
	g.doubtful = false
	if lines <= 0 {
		return times
	}
	a := at.Seconds()
	if !g.begun {
		// Nothing tells how far apart the lines of the first read are: they end at
		// its arrival, with hardly a step between.
		g.begun, g.lastA = true, a
		g.lastT = at - time.Duration(lines)*leastStep
	}
	g.n += int64(lines)
	switch g.mode {
	case tracking:
		g.track(a, lines)
	case learning:
		g.learn(a)
	case uneven:
		if a-g.since >= unevenSeconds {
			g.relearn()
		}
	}
	step, last := leastStep.Seconds(), a
	if g.mode == tracking {
		step, last = g.line.period, g.line.at(g.n)
	} else if gap := a - g.lastA; gap > 0 {
		step = g.spacing(gap / float64(lines))
	}
	g.lastA = a
	if first := last - float64(lines-1)*step; g.mode == tracking {
		missing := first - g.lastT.Seconds() - step
		waited := float64(lines) * step
		g.doubtful = waited >= waitedSeconds && missing > max(missingSeconds, missingPeriods*step)
	}
	for i := range lines {
		t := time.Duration((last - float64(lines-1-i)*step) * float64(time.Second))
		g.lastT = max(g.lastT+leastStep, t)
		g.doubtful = g.doubtful || g.lastT-t > squeezed
		times = append(times, g.lastT)
	}
	return times
}

// spacing returns the time between lines of one read while there is no grid.
func (g *Grid) spacing(here float64) float64 {
	if len(g.points) > 1 {
		first, last := g.points[0], g.points[len(g.points)-1]
		return min(here, (last.t-first.t)/float64(last.n-first.n))
	}
	return here
}

// learn collects points until they tell the period.
func (g *Grid) learn(a float64) {
	if len(g.points) > 0 && a-g.lastA >= pauseSeconds {
		g.points = g.points[:0]
	}
	g.points = append(g.points, point{g.n, a})
	span, count := a-g.points[0].t, g.n-g.points[0].n
	switch {
	case span < learnSeconds, count < learnLines && span < learnAtMost:
		return
	case count < learnLines:
		g.points = g.points[:0] // too slow for the difference to matter
		return
	}
	learned, ok := findPeriod(g.points)
	if !ok {
		g.attempt(a)
		return
	}
	g.n = learned.n
	g.line = learned.line
	g.lags, g.early, g.gone = lags{}, 0, 0
	for _, p := range g.points {
		g.lags.add(math.Mod(p.t-g.line.at(p.n), g.line.period)) // what is ordinary here
	}
	g.points = g.points[:0]
	g.lower.reset(g.line.period)
	g.mode, g.held = tracking, 0
}

// relearn begins a new search for the period.
func (g *Grid) relearn() {
	g.mode = learning
	g.points = g.points[:0]
	g.lost.settle()
}

// attempt notes that the grid did not hold and decides whether to search again.
func (g *Grid) attempt(a float64) {
	g.relearn()
	recent := g.attempts[:0]
	for _, t := range g.attempts {
		if a-t < attemptSeconds {
			recent = append(recent, t)
		}
	}
	g.attempts = append(recent, a)
	if len(g.attempts) >= maxAttempts {
		g.mode, g.since, g.odd = uneven, a, true
		g.attempts = g.attempts[:0]
	}
}

// track follows the grid with one read.
func (g *Grid) track(a float64, lines int) {
	period := g.line.period
	if gap := a - g.lastA; gap > pauseSeconds && gap > pausePeriods*period {
		g.line = line{g.n, a, g.lower.period}
		g.lags = lags{}
		g.lower.reset(g.lower.period)
		g.lost.settle()
		return
	}
	before := g.n
	lag := a - g.line.at(g.n)
	g.early *= 1 - 1.0/lagsKept
	if k := earlyBy(lag, period); k > 0 {
		lag = g.stepBack(lag, k)
	} else if k := g.lags.lateBy(lag, period); k > 0 {
		g.n += int64(k)
		lag -= float64(k) * period
		g.lost.declare(k, a)
	}
	g.lags.add(lag)
	g.lost.age()
	share := float64(max(0, g.n-before)) / float64(int64(lines)+max(0, g.n-before))
	g.gone += (share - g.gone) / 16
	if g.early > 3 || g.gone > 0.45 {
		g.attempt(a)
		return
	}
	if g.held++; g.held > heldReads {
		g.odd = false
	}
	if g.lower.add(point{g.n, a}, lag) {
		g.line = g.lower.steer(g.line, g.n)
	}
}

// earlyBy returns by how many periods a line is too early for its number.
func earlyBy(lag, period float64) int {
	if lag > -period/2 {
		return 0
	}
	return int(math.Round(-lag / period))
}

// stepBack corrects a count that ran ahead.
func (g *Grid) stepBack(lag float64, k int) float64 {
	g.n -= int64(k)
	if since, ours := g.lost.retract(k); ours {
		g.early += 0.5 // a hitch taken for a loss
		g.lower.forget(since)
	} else {
		g.early++
	}
	return lag + float64(k)*g.line.period
}
