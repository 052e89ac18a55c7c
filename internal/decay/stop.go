package decay

import (
	"fmt"
	"math"
)

// stop says why the least-squares core stopped. Only what converged is a fit.
type stop uint8

const (
	// stopped at a minimum: see criterion for how that was told.
	stopConverged stop = iota
	// stopped because the allowed number of steps was used up.
	stopSteps
	// stopped because no step, however short, made the sum smaller, and this is no
	// minimum: the model and its derivatives are at odds, or it has no value around here.
	stopStuck
	// stopped because a parameter no longer makes a difference: the fit ran off.
	stopRanOff
	// stopped because the model has no value, or no derivatives, at the start.
	stopNoStart
)

var stopNames = [...]string{"converged", "too many steps", "no progress", "ran off", "no value at the start"}

func (s stop) String() string {
	if int(s) < len(stopNames) {
		return stopNames[s]
	}
	return fmt.Sprintf("stop %d", s)
}

// criterion says what told a minimum.
type criterion uint8

const (
	// notMet where there was none to tell.
	notMet criterion = iota
	// byGain: the undamped step promises no gain worth taking.
	byGain
	// byStep: the undamped step is shorter than the tolerance.
	byStep
	// byOffset: no step gains, for derivatives and sums are only so exact, but what the
	// undamped one promises is nothing beside the parameters' own uncertainty.
	byOffset
	// bySlope: what is left is at right angles to every column.
	bySlope
)

var criterionNames = [...]string{"not met", "gain", "step", "offset", "slope"}

func (c criterion) String() string { return criterionNames[c] }

// tooShort says by what a step is not worth taking. One kept within bounds may
// promise less than nothing: that one is too long.
func (d *descent) tooShort(size, length, promise float64) criterion {
	switch {
	case promise >= 0 && promise <= max(1e-15*d.s.sum, d.pr.enough):
		return byGain
	case size <= d.tol*(length+d.tol):
		return byStep
	}
	return notMet
}

// level reports whether the residuals are at right angles to all that can move, as
// far as float64 can tell: Moré's cosine.
func (d *descent) level() bool {
	for j := range d.largest {
		if !d.frozen[j] && math.Abs(d.q.slope(j)) > 1e-15*d.q.norm(j)*math.Sqrt(d.s.sum) {
			return false
		}
	}
	return true
}

// verdict says what it means that the damped step is too short. It may be so for its
// damping alone: then there is no verdict yet, or, if longer ones were rejected, no
// progress.
func (d *descent) verdict(rejected bool) (stop, criterion) {
	d.step(0)
	size, length := d.lengths()
	promise := d.q.promise(d.h)
	by := d.tooShort(size, length, promise)
	switch {
	case d.plain():
		return stopRanOff, notMet
	case by != notMet:
		return stopConverged, by
	case !rejected && d.damping > 1e-16:
		return stopConverged, notMet
	case d.offset(promise) < 0.1:
		return stopConverged, byOffset
	}
	return stopStuck, notMet
}

// offset is how far off the minimum is that a gain is promised for, in standard
// deviations of the parameters: the relative offset of Bates and Watts (1981).
func (d *descent) offset(promise float64) float64 {
	n, m := float64(d.pr.rows), float64(d.pr.cols)
	return math.Sqrt(promise / m * max(n-m, 1) / (d.s.sum - promise))
}

// plain reports whether the descent has come to a plain, on which a parameter has
// stopped to matter: its column has all but vanished against what it once was.
func (d *descent) plain() bool {
	for j, l := range d.largest {
		if !d.fixed[j] && d.q.norm(j) <= 1e-8*l {
			return true
		}
	}
	return false
}
