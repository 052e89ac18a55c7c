package rig

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"
)

// Chart is an exponentially weighted moving average control chart: it adds up small
// shifts that single checks hide (NIST/SEMATECH e-Handbook of Statistical Methods,
// 6.3.2.4).
//
//	z_i = Lambda·x_i + (1 − Lambda)·z_{i−1},  z_0 = Target
//	limits at i: Target ± Width·Sigma·√(Lambda/(2−Lambda)·(1 − (1−Lambda)^{2i}))
type Chart struct {
	Lambda float64 `json:"lambda"` // weight of the newest, above 0, up to 1
	Target float64 `json:"target"`
	Sigma  float64 `json:"sigma"` // standard deviation of one value
	Width  float64 `json:"width"` // of the limits in standard deviations of z
}

// Spot is one point of a chart.
type Spot struct {
	Value   float64 `json:"value"`
	Average float64 `json:"average"` // z
	Low     float64 `json:"low"`     // limits of z
	High    float64 `json:"high"`
	Out     bool    `json:"out"`
}

// Limits returns those of a long chart. A young one has narrower limits; see [Chart.Run].
func (c Chart) Limits() (low, high float64) {
	half := c.Width * c.Sigma * math.Sqrt(c.Lambda/(2-c.Lambda))
	return c.Target - half, c.Target + half
}

// Run returns the chart of values in their order, with limits exact for each.
func (c Chart) Run(values []float64) []Spot {
	low, high := c.Limits()
	z, forgotten := c.Target, 1.0
	spots := make([]Spot, len(values))
	for i, x := range values {
		z = c.Lambda*x + (1-c.Lambda)*z
		forgotten *= (1 - c.Lambda) * (1 - c.Lambda)
		young := math.Sqrt(1 - forgotten)
		s := Spot{Value: x, Average: z, Low: c.Target + (low-c.Target)*young, High: c.Target + (high-c.Target)*young}
		s.Out = z < s.Low || z > s.High
		spots[i] = s
	}
	return spots
}

// Control is the state of a rig by its checks.
type Control string

// States of a rig.
const (
	Unchecked    Control = "unchecked"
	InControl    Control = "in control"
	OutOfControl Control = "out of control"
)

// Watch is the chart of a rig's checks with what it says of the rig now.
type Watch struct {
	Chart Chart   `json:"chart"`
	Spots []Spot  `json:"spots"`
	State Control `json:"state"`
	Says  string  `json:"says"` // one sentence for people
	// Newest is the check that was charted last.
	Newest Checked `json:"newest"`
}

// The chart's constants: with a known target, Lambda 0.2 and limits of 2.86 standard
// deviations find a shift of one standard deviation in some ten checks, and cry wolf once
// in 370 (Lucas and Saccucci, Technometrics 32 (1990) 1).
const chartLambda, chartWidth = 0.2, 2.86

// baseline is how many checks make one. Their mean is itself known to σ/√20 only, which
// is two thirds of what z scatters by, so the limits are wider by that. A scatter known
// from twenty is what makes false alarms come once in some 200 checks all the same.
const baseline = 20

// WatchOver charts the deviations of checks of one reference leak in their order, since
// the rig was last mended. The rig is out of control when the newest point is, or when
// the newest check itself disagrees with the certificate. A check known to no better
// than 10 % leaves it unchecked.
func WatchOver(checks []Checked) Watch {
	if len(checks) == 0 {
		return Watch{State: Unchecked, Says: "The rig has not been checked with a reference leak."}
	}
	chart, charted := watchChart(checks)
	last := checks[len(checks)-1]
	w := Watch{Chart: chart, Spots: chart.Run(charted), State: OutOfControl, Newest: last}
	spot := w.Spots[len(w.Spots)-1]
	switch {
	case math.Abs(last.En) > 1:
		w.Says = fmt.Sprintf("Check the rig: the reference leak reads %+.1f %% off, more than both uncertainties allow (En = %.2f).", 100*last.Deviation.Value, last.En)
	case spot.Out:
		w.Says = fmt.Sprintf("Check the rig: its readings of the reference leak have drifted, now %+.1f %% on average against limits of %+.1f and %+.1f %%.", 100*spot.Average, 100*spot.Low, 100*spot.High)
	case last.Deviation.U > useful:
		w.State = Unchecked
		w.Says = fmt.Sprintf("The last check with the reference leak is known to %.0f %% only: that says nothing of the rig.", 100*last.Deviation.U)
	default:
		w.State = InControl
		w.Says = fmt.Sprintf("The reference leak reads %+.1f %% off; the rig is in control.", 100*last.Deviation.Value)
	}
	return w
}

// watchChart returns the chart that suits the checks, and the values that belong on it.
//
// Up to twenty, it is about zero and one check's full uncertainty is its standard
// deviation. Then the first twenty are the baseline: their mean is the target, so that a
// certificate that is off by less than its own uncertainty raises no alarm for good, and
// their scatter is the standard deviation, but not less than a third of what one check
// says of itself.
func watchChart(checks []Checked) (c Chart, charted []float64) {
	values := make([]float64, len(checks))
	var u float64
	for i, check := range checks {
		values[i] = check.Deviation.Value
		if i < baseline { // a later check that is hardly known must not widen the limits
			u = max(u, check.Deviation.U)
		}
	}
	c = Chart{Lambda: chartLambda, Sigma: u, Width: chartWidth}
	if len(values) <= baseline {
		return c, values
	}
	first := values[:baseline]
	c.Target = stat.Mean(first, nil)
	c.Sigma = max(stat.StdDev(first, nil), u/3)
	c.Width *= math.Sqrt(1 + (2-chartLambda)/chartLambda/baseline)
	return c, values[baseline:]
}
