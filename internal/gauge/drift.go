package gauge

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// Clock compares a gauge's clock with this computer's. A leakage rate is off by as
// much as the clock it was timed with.
type Clock struct {
	// DriftPPM is by how many parts in a million the gauge's clock is fast, and
	// UPPM its standard uncertainty. Both are 0 until Known, after half a minute.
	DriftPPM, UPPM float64
	Known          bool
	// Ratio is gauge time by host time, told within seconds, if it is nowhere near
	// 1; else 0.
	Ratio float64
	// Still is true when the gauge's clock hardly moves at all, which no ratio says.
	Still bool
}

const (
	// clockWindow is the time of which the least delayed arrival is kept: long enough
	// to hold one that no lump held up, since USB bridges deliver every 16 ms at worst.
	clockWindow = time.Second
	// clockWindows is how many are kept; then two are made one, so that the baseline
	// grows for as long as the gauge is there.
	clockWindows = 64
	// clockAfter is the shortest baseline for a drift. Delays of 1 ms then cost 30 ppm.
	clockAfter = 30 * time.Second
	// clockJump is a change of the delay from one window to the next that no drift
	// makes: one of the clocks was stopped or set, and the comparison begins anew.
	clockJump = 100 * time.Millisecond
	// DriftLimitPPM is the drift beyond which it is said: half a per mille of the leakage rate.
	DriftLimitPPM = 500
	// wildRatio and its inverse bound what may still be called a drift, and wildAfter
	// windows in a row beyond are no accident.
	wildRatio = 1.08
	wildAfter = 4
	// stillRatio bounds what is still a unit of time: a clock that counts seconds.
	stillRatio = 1e-7
)

// arrival is a reading's time on both clocks.
type arrival struct {
	gauge, host time.Duration
}

func (a arrival) delay() time.Duration { return a.host - a.gauge }

// clockWatch finds the drift from arrivals. Arrivals are late by what lumps, drivers
// and a busy computer add and never early, so that the least late of each window lie
// along the true line, and the line under them is the clocks' own. The zero value is
// ready and watches nothing until watched is set.
type clockWatch struct {
	watched bool
	began   time.Time
	window  time.Duration // of the entries of kept
	current arrival       // least delayed of the present window
	count   int           // arrivals in the present window
	// readings and lumps are how many came in all the windows since the line began.
	readings, lumps uint64
	kept            []arrival // least delayed of each window before
	last            arrival   // of the window before, however many were merged
	doubt           int       // windows in a row whose delay has jumped
	wild            int       // windows in a row with an impossible ratio, signed
	ratio           float64
	still           bool
}

// restart begins anew: the gauge was opened, or began its clock anew.
func (w *clockWatch) restart() { *w = clockWatch{watched: w.watched} }

// heard takes the time of the last of n readings that came together and when they came.
func (w *clockWatch) heard(gauge time.Duration, at time.Time, n uint64) {
	if !w.watched {
		return
	}
	if w.began.IsZero() {
		w.began, w.window = at, clockWindow
	}
	w.readings += n
	w.lumps++
	w.arrived(arrival{gauge: gauge, host: at.Sub(w.began)})
}

func (w *clockWatch) arrived(a arrival) {
	if w.count > 0 && a.host/clockWindow != w.current.host/clockWindow {
		w.close()
	}
	if w.count == 0 || a.delay() < w.current.delay() {
		w.current = a
	}
	w.count++
}

// close ends the present window.
func (w *clockWatch) close() {
	now := w.current
	w.count = 0
	if len(w.kept) == 0 {
		w.keep(now)
		return
	}
	host, gauge := now.host-w.last.host, now.gauge-w.last.gauge
	w.judgeRatio(float64(gauge) / float64(host))
	switch jump := now.delay() - w.last.delay(); {
	case jump < -clockJump:
		// An old lump was worked off, or the gauge's clock was set.
		w.begin(now)
	case jump > clockJump && w.doubt == 0:
		w.doubt++ // perhaps only this window was held up
	case jump > clockJump:
		w.begin(now)
	default:
		w.keep(now)
	}
}

// begin drops what was kept, for a line that begins at a.
func (w *clockWatch) begin(a arrival) {
	w.kept = w.kept[:0]
	w.window, w.readings, w.lumps = clockWindow, 0, 0
	w.keep(a)
}

// keep adds the least delayed arrival of a window.
func (w *clockWatch) keep(a arrival) {
	w.doubt, w.last = 0, a
	if n := len(w.kept); n > 0 && a.host/w.window == w.kept[n-1].host/w.window {
		if a.delay() < w.kept[n-1].delay() {
			w.kept[n-1] = a
		}
		return
	}
	w.kept = append(w.kept, a)
	if len(w.kept) > clockWindows {
		w.window *= 2
		merged := w.kept[:0]
		for _, a := range w.kept {
			n := len(merged)
			switch {
			case n == 0 || merged[n-1].host/w.window != a.host/w.window:
				merged = append(merged, a)
			case a.delay() < merged[n-1].delay():
				merged[n-1] = a
			}
		}
		w.kept = merged
	}
}

// judgeRatio counts windows whose two lengths have nothing to do with each other.
func (w *clockWatch) judgeRatio(ratio float64) {
	switch {
	case ratio > wildRatio:
		w.wild = max(w.wild, 0) + 1
	case ratio < 1/wildRatio:
		w.wild = min(w.wild, 0) - 1
	default:
		w.wild, w.ratio, w.still = 0, 0, false
	}
	if w.wild >= wildAfter || w.wild <= -wildAfter {
		w.ratio, w.still = ratio, ratio < stillRatio
	}
	if w.still {
		w.ratio = 0
	}
}

// clock returns what is known by now.
func (w *clockWatch) clock() Clock {
	c := Clock{Ratio: w.ratio, Still: w.still}
	if w.still || w.ratio != 0 || len(w.kept) < 3 {
		return c
	}
	baseline := w.kept[len(w.kept)-1].host - w.kept[0].host
	if baseline < clockAfter {
		return c
	}
	slope, off := lineUnder(w.kept)
	off = max(off, w.beat(baseline))
	// The delay is host minus gauge: it grows where the gauge is slow.
	c.DriftPPM, c.UPPM, c.Known = -1e6*slope/(1+slope), 1e6*off/(baseline.Seconds()/2), true
	return c
}

// beat is how far off the least delays may be without showing it, in seconds. Where
// readings come in lumps, the end of a lump moves slowly through the time between two
// readings, as two combs do, and the least delay with it.
func (w *clockWatch) beat(baseline time.Duration) float64 {
	if 2*w.readings <= 3*w.lumps {
		return 0
	}
	return baseline.Seconds() / float64(w.readings) / 4
}

// lineUnder returns the slope of delay over gauge time of the line that lies under all
// points and nearest to them (least sum of distances): the side of their lower convex
// hull under their mean. It also returns how far off the line the points mostly lie, in
// seconds: over half the baseline, that is the slope's standard uncertainty.
func lineUnder(points []arrival) (slope, off float64) {
	x := func(a arrival) float64 { return a.gauge.Seconds() }
	y := func(a arrival) float64 { return a.delay().Seconds() }
	var hull []arrival
	mean := 0.0
	for _, p := range points {
		mean += x(p) / float64(len(points))
		for n := len(hull); n >= 2; n = len(hull) {
			a, b := hull[n-2], hull[n-1]
			if (y(b)-y(a))*(x(p)-x(a)) < (y(p)-y(a))*(x(b)-x(a)) {
				break
			}
			hull = hull[:n-1]
		}
		hull = append(hull, p)
	}
	side := 1
	for side < len(hull)-1 && x(hull[side]) < mean {
		side++
	}
	a, b := hull[side-1], hull[side]
	slope = (y(b) - y(a)) / (x(b) - x(a))
	above := make([]float64, len(points))
	for i, p := range points {
		above[i] = y(p) - y(a) - slope*(x(p)-x(a))
	}
	slices.Sort(above)
	// 50 µs: what a wake-up costs at best, seen on a pseudo-terminal.
	return slope, max(above[len(above)/2], 50e-6)
}

// Trouble says what is wrong with the clock, empty if nothing is.
func (c Clock) Trouble() string {
	switch {
	case c.Still:
		return errClockStands.Error()
	case c.Ratio != 0:
		what := "its t_us must count microseconds"
		if math.Abs(math.Log(c.Ratio*1000)) < 0.1 {
			what = "it seems to count milliseconds in t_us, which must be microseconds"
		}
		return fmt.Sprintf("the gauge's clock runs %s as this computer's, so every time and leakage rate is wrong by as much: %s", times(c.Ratio), what)
	case c.Known && math.Abs(c.DriftPPM)-2*c.UPPM > DriftLimitPPM:
		way := "fast"
		if c.DriftPPM < 0 {
			way = "slow"
		}
		return fmt.Sprintf("the gauge's clock is %.0f ± %.0f ppm %s, and leakage rates are off by as much: %.2f %%", math.Abs(c.DriftPPM), 2*c.UPPM, way, math.Abs(c.DriftPPM)/1e4)
	}
	return ""
}

// times says a ratio in words.
func times(ratio float64) string {
	way := "fast"
	if ratio < 1 {
		ratio, way = 1/ratio, "slow"
	}
	digits := 1
	switch {
	case ratio >= 1e5:
		return fmt.Sprintf("more than 100000 times as %s", way)
	case ratio >= 10:
		digits = 0
	}
	return fmt.Sprintf("%.*f times as %s", digits, ratio, way)
}
