package rig

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"
)

// Control is the state of a rig by its checks.
type Control string

// States of a rig.
const (
	Unchecked    Control = "unchecked"
	InControl    Control = "in control"
	OutOfControl Control = "out of control"
)

// Watch is what a rig's checks say of it after the newest of them. The earlier ones are in
// records of their own.
type Watch struct {
	Chart Chart `json:"chart"`
	// Spot is where the chart stands; nil while no check is on it since one that failed.
	Spot  *Spot   `json:"spot,omitempty"`
	State Control `json:"state"`
	Says  string  `json:"says"` // one sentence for people
	// Newest is the newest check, be it on the chart or not.
	Newest Checked `json:"newest"`
}

// The chart's constants: with a known target, Lambda 0.2 and limits of 2.86 standard
// deviations find a shift of one standard deviation in some ten checks, and cry wolf once
// in 370 (Lucas and Saccucci, Technometrics 32 (1990) 1).
const chartLambda, chartWidth = 0.2, 2.86

// One check fails that is off by more than failAt of its standard uncertainties, the
// certificate's in them; one that is off by no more than clearAt clears the rig again.
const failAt, clearAt = 3, 2

// baseline is how many checks make one. Their mean is itself known to σ/√20 only, which
// is two thirds of what z scatters by, so the limits are wider by that. A scatter known
// from twenty is what makes false alarms come once in some 200 checks all the same.
const baseline = 20

// WatchOver says of checks with one reference leak, in their order since the rig was last
// mended, whether it is in control.
//
// One check alone fails if it is off by more than three times its standard uncertainty.
// The rig is then out of control until a further check clears it, which has to lie within
// twice; another that fails confirms it. Whatever failed, and whatever came before the
// rig was cleared, is not on the chart, and the chart's average begins anew after it: one
// typing error costs one more check and no more. The rig is out of control too while the
// average of the others lies beyond its limits. A check known to no better than 10 % that
// does not fail says nothing: it clears nothing and is not on the chart, and leaves a rig
// unchecked that is not out of control.
//
// Of simulated rigs that read right, 8 % raised an alarm within 20 checks where nothing of
// a check's uncertainty was common to all of them, 4 % where a part of 0.7 of it was, such
// as the certificate's, and 1.5 % where 0.95 of it was.
func WatchOver(checks []Checked) Watch {
	if len(checks) == 0 {
		return Watch{State: Unchecked, Says: "The rig has not been checked with a reference leak."}
	}
	c := follow(checks)
	chart, values := c.chart()
	last := checks[len(checks)-1]
	w := Watch{Chart: chart, State: OutOfControl, Newest: last}
	if spots := chart.Run(values); len(spots) > 0 {
		w.Spot = &spots[len(spots)-1]
	}
	switch {
	case len(c.failed) > 0:
		w.Says = c.alarm(last)
	case w.Spot != nil && w.Spot.Out:
		w.Says = fmt.Sprintf("Check the rig: its readings of the reference leak have drifted, now %+.1f %% on average against limits of %+.1f and %+.1f %%.", 100*w.Spot.Average, 100*w.Spot.Low, 100*w.Spot.High)
	case last.vague():
		w.State = Unchecked
		w.Says = fmt.Sprintf("The last check with the reference leak is known to %.0f %% only: that says nothing of the rig.", 100*last.Deviation.U)
	default:
		w.State = InControl
		w.Says = fmt.Sprintf("The reference leak reads %+.1f %% off; the rig is in control.", 100*last.Deviation.Value)
	}
	return w
}

// course is what became of checks in their order.
type course struct {
	charted []Checked
	since   int       // from where on the chart's average runs
	failed  []Checked // that nothing has cleared yet
}

func follow(checks []Checked) (c course) {
	for _, check := range checks {
		switch {
		case check.beyond(failAt):
			c.failed = append(c.failed, check)
			c.since = len(c.charted)
		case check.vague(), len(c.failed) > 0 && check.beyond(clearAt):
		default:
			c.failed = nil
			c.charted = append(c.charted, check)
		}
	}
	return c
}

// alarm says what stands against a rig that has failed and was not cleared; last is the
// newest check.
func (c course) alarm(last Checked) string {
	failed := c.failed[len(c.failed)-1]
	off, u := 100*last.Deviation.Value, 100*last.Deviation.U
	switch {
	case last.beyond(failAt) && len(c.failed) == 1:
		return fmt.Sprintf("Check the rig: the reference leak reads %+.1f %% off, more than three times the standard uncertainty of %.2g %%. Look at volumes, leak and seals and check again: a second check clears the rig or confirms it.", off, u)
	case last.beyond(failAt):
		return fmt.Sprintf("Check the rig: %d checks have failed, the last one %+.1f %% off with a standard uncertainty of %.2g %%. Mend the rig, then check again or prove it.", len(c.failed), off, u)
	case last.vague():
		return fmt.Sprintf("Check the rig: a check was %+.1f %% off, and the last one, known to %.0f %% only, does not clear it.", 100*failed.Deviation.Value, u)
	}
	return fmt.Sprintf("Check the rig: a check was %+.1f %% off, and the last one, %+.1f %% off with a standard uncertainty of %.2g %%, does not clear it: check again.", 100*failed.Deviation.Value, off, u)
}

// chart returns the chart that suits the checks, and the values that run on it.
//
// Up to twenty, it is about zero, and what a check is uncertain by is parted into what is
// new each time and what may be wrong of all. Then the first twenty are the baseline:
// their mean is the target, so that a certificate that is off by less than its own
// uncertainty raises no alarm for good, and their scatter is the standard deviation, but
// not less than a third of what one check says of itself.
func (c course) chart() (chart Chart, values []float64) {
	all := make([]float64, len(c.charted))
	var u, own float64
	for i, check := range c.charted {
		all[i] = check.Deviation.Value
		if i < baseline { // a later check that is known less well must not widen the limits
			u = max(u, check.Deviation.U)
			own = max(own, check.repeatU())
		}
	}
	chart = Chart{Lambda: chartLambda, Width: chartWidth}
	if len(all) <= baseline {
		chart.Sigma = min(own, u)
		chart.Common = math.Sqrt(u*u - chart.Sigma*chart.Sigma)
		return chart, all[c.since:]
	}
	first := all[:baseline]
	chart.Target = stat.Mean(first, nil)
	chart.Sigma = max(stat.StdDev(first, nil), u/3)
	chart.Width *= math.Sqrt(1 + (2-chartLambda)/chartLambda/baseline)
	return chart, all[max(c.since, baseline):]
}

// beyond reports whether a check is off by more than so many standard uncertainties.
func (c Checked) beyond(times float64) bool {
	return math.Abs(c.Deviation.Value) > times*c.Deviation.U
}

// vague reports whether a check is known too badly to say something of a rig.
func (c Checked) vague() bool { return c.Deviation.U > useful }

// repeatU is what is new in each check of the deviation's uncertainty: as told, else what
// the certificate has no part in.
func (c Checked) repeatU() float64 {
	if c.RepeatU > 0 || c.Stated.Value == 0 {
		return c.RepeatU
	}
	certified := c.Measured.Value / c.Stated.Value * c.Stated.U / c.Stated.Value
	return math.Sqrt(max(c.Deviation.U*c.Deviation.U-certified*certified, 0))
}
