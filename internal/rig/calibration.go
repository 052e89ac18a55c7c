package rig

import (
	"fmt"
	"math"
	"slices"
)

// Course says from which side a pressure was approached; "" when nobody noted it.
type Course string

// Courses of a calibration.
const (
	Up   Course = "up"   // |Δp| was rising
	Down Course = "down" // |Δp| was falling
)

// Pair is one point of a calibration: a known gauge pressure and what the gauge read,
// all in Pa and with the sign of a gauge pressure.
type Pair struct {
	Reference  float64 `json:"reference_pa"`
	ReferenceU float64 `json:"reference_u_pa"` // what differs from pair to pair only
	Reading    float64 `json:"reading_pa"`
	ReadingU   float64 `json:"reading_u_pa"` // repeatability of the reading; 0 when not known
	Course     Course  `json:"course,omitempty"`
}

// Common is one standard uncertainty that all references share: wrong in all of them
// at once and to the same side.
type Common struct {
	Source   string  `json:"source"`
	Relative float64 `json:"relative,omitempty"` // of the reference
	Offset   float64 `json:"offset_pa,omitempty"`
}

// Gauge is what the gauge states of itself, in Pa of gauge pressure.
type Gauge struct {
	Min, Max   float64
	Resolution float64 // step of its readings; 0 when not known
}

// Calibration is the correction of a gauge as a straight line of its reading,
//
//	true = reading + correction(reading),
//
// with the covariance of both parameters. The gauge's zero is taken anew in every
// hold, so a leakage rate needs the slope alone; see [Calibration.SpanFactor].
type Calibration struct {
	// Line is the correction in Pa against the reading in Pa; its covariance is that of
	// scatter alone. Readings are taken as exact against their spread: the noise of a
	// reading of 1 Pa in a spread of 3 kPa bends the slope by 1 part in 10 million.
	Line Line `json:"line"`
	// Shared is what the references' common errors add to the covariance.
	Shared Covariance `json:"shared"`
	// Span is by what a difference of two readings must be multiplied to be true.
	Span Result `json:"span"`
	// Hysteresis is the largest difference between falling and rising at one height, in
	// Pa; 0 unless both courses were taken. Scatter is in it too, so it errs to be large.
	Hysteresis float64 `json:"hysteresis_pa"`
	// Repeatability is the standard deviation in Pa of readings repeated at one height on
	// one course; 0 when nothing was repeated.
	Repeatability float64 `json:"repeatability_pa"`
	// Nonlinearity is the largest distance in Pa of the mean at one height from the line.
	Nonlinearity float64 `json:"nonlinearity_pa"`
	// From and To are the readings in Pa between which the line is known.
	From float64 `json:"from_pa"`
	To   float64 `json:"to_pa"`
	// Heights is how many different references there were, Pairs how many pairs.
	Heights int `json:"heights"`
	Pairs   int `json:"pairs"`
	// Taken are the pairs themselves, so that the line can be drawn again.
	Taken  []Pair   `json:"taken,omitempty"`
	Doubts []string `json:"doubts,omitempty"`
}

// Calibrate fits the correction line of a gauge.
//
// Where something is stated of every pair, be it only the gauge's steps, pairs are
// weighed by it and their scatter counts if it is larger; else the scatter alone counts
// (JCGM 100:2008, H.3).
func Calibrate(g Gauge, pairs []Pair, common ...Common) (Calibration, error) {
	points, err := g.group(pairs)
	if err != nil {
		return Calibration{}, err
	}
	readings, corrections, u := columns(pairs, g.Resolution)
	line, err := FitLine(readings, corrections, u, 0)
	if err != nil {
		return Calibration{}, &Refusal{Doing: doingCalibration, Found: err.Error()}
	}
	c := Calibration{
		Line: line, From: slices.Min(readings), To: slices.Max(readings),
		Heights: len(points), Pairs: len(pairs), Taken: slices.Clone(pairs),
	}
	c.scatter(points)
	c.span(shifts(readings, pairs, u, common))
	c.doubt(!slices.ContainsFunc(pairs, func(p Pair) bool { return p.ReadingU == 0 }))
	if !(c.Span.Value > 0.5 && c.Span.Value < 2) {
		return Calibration{}, &Refusal{doingCalibration, "the gauge reads less than half or more than twice the reference", "check the unit of the references and that suction is negative in both"}
	}
	if u := c.SpanU(); u > uncalibratedU {
		return Calibration{}, &Refusal{doingCalibration,
			fmt.Sprintf("these pairs say the span to ± %.1f %% only (95 %%), worse than the 2 %% (± 4 %%) that counts without a calibration", 196*u), c.mend()}
	}
	return c, nil
}

// uncalibratedU is the relative standard uncertainty of the span of a gauge that was
// never calibrated.
const uncalibratedU = 0.02

// mend says what makes a calibration better.
func (c *Calibration) mend() string {
	if i, off, found := Stray(c.Taken); found {
		return fmt.Sprintf("pair %d, at %.0f Pa, stands %+.0f Pa off the line of the others: was its height mistyped? take it again", i+1, c.Taken[i].Reference, off)
	}
	return "take six heights or more, up and down, over more of the range"
}

// OneSided says what is not known where all pairs were on one side of zero; empty where
// they were on both.
func (c *Calibration) OneSided() string {
	const small = 50 // Pa: the zero, which a gauge may show a little off
	switch {
	case c.To < small:
		return "All pairs were in suction: what the gauge does in pressure is not known."
	case c.From > -small:
		return "All pairs were in pressure: what the gauge does in suction is not known."
	}
	return ""
}

// columns are the readings, the corrections and, if something is stated of every pair,
// their uncertainties, the gauge's steps included (rectangular, JCGM 100:2008, F.2.2.1).
func columns(pairs []Pair, resolution float64) (readings, corrections, u []float64) {
	for _, p := range pairs {
		readings = append(readings, p.Reading)
		corrections = append(corrections, p.Reference-p.Reading)
		u = append(u, math.Hypot(math.Hypot(p.ReferenceU, p.ReadingU), resolution/math.Sqrt(12)))
	}
	if slices.Contains(u, 0) {
		return readings, corrections, nil
	}
	return readings, corrections, u
}

// shift is what one common error, of the size of its standard uncertainty, does to the
// parameters of the line.
type shift struct {
	source           string
	intercept, slope float64
}

// shifts refits the line to what each common error alone would add to the corrections;
// least squares is linear in them, so nothing is approximated.
func shifts(readings []float64, pairs []Pair, u []float64, common []Common) []shift {
	var all []shift
	for _, c := range common {
		moved := make([]float64, len(pairs))
		for i, p := range pairs {
			moved[i] = c.Relative*p.Reference + c.Offset
		}
		if l, err := FitLine(readings, moved, u, 0); err == nil {
			all = append(all, shift{c.Source, l.Intercept, l.Slope})
		}
	}
	return all
}

// span fills in Shared and Span. Between them stands the hysteresis: if rising and
// falling lie H apart, the slope of either may differ from the line's by about H over
// the range, taken as the half-width of a rectangle.
func (c *Calibration) span(shared []shift) {
	sources := []source{
		{name: "slope", Measured: Measured{1 + c.Line.Slope, 0}},
		{name: "scatter", Measured: Measured{0, math.Sqrt(c.Line.Covariance.Slope)}, dof: c.Line.witnesses()},
		{name: "hysteresis", Measured: Measured{0, c.Hysteresis / (c.To - c.From) / math.Sqrt(3)}},
	}
	for _, s := range shared {
		c.Shared.add(s.intercept, s.slope)
		sources = append(sources, source{name: s.source, Measured: Measured{0, math.Abs(s.slope)}})
	}
	c.Span = propagate(sum, sources)
}

// sum is the model of a result that its sources add up to.
func sum(x []float64) (total float64) {
	for _, v := range x {
		total += v
	}
	return total
}

// Correction returns what to add to a reading in Pa, with everything that is not known
// of it: scatter, common errors with their correlation along the line, and hysteresis
// (half of it as the half-width of a rectangle).
func (c Calibration) Correction(reading float64) Result {
	hysteresis := c.Hysteresis / 2 / math.Sqrt(3)
	r := propagate(sum, []source{
		{name: "line", Measured: Measured{c.Line.Value(reading), 0}},
		{name: "scatter", Measured: Measured{0, c.Line.At(reading).U}, dof: c.Line.witnesses()},
		{name: "common errors of the references", Measured: Measured{0, math.Sqrt(max(c.Shared.at(reading-c.Line.Origin), 0))}},
		{name: "hysteresis", Measured: Measured{0, hysteresis}},
	})
	if beyond := max(c.From-reading, reading-c.To); beyond > 0.1*(c.To-c.From) {
		r.Doubts = append(r.Doubts, "The reading lies well outside what was calibrated; the line is only continued there.")
	}
	return r
}

// SpanFactor returns by what a difference of two readings must be multiplied.
func (c Calibration) SpanFactor() float64 { return c.Span.Value }

// SpanU returns the relative standard uncertainty of a pressure difference that has
// been multiplied by [Calibration.SpanFactor]. Few degrees of freedom are made up for,
// so that 1.96 times it is the half-width of a 95 % interval as for a well-known one.
func (c Calibration) SpanU() float64 {
	few := coverageFactor(c.Span.Dof) / coverageFactor(0)
	return c.Span.Relative() * few
}

// SpanUUncorrected returns the same for readings taken as they come: what was found wrong
// with the span is then one more doubt. Added in squares it covers at least 95 %, however
// large it is, but it is better corrected.
func (c Calibration) SpanUUncorrected() float64 {
	return math.Hypot(c.SpanU(), c.Line.Slope/c.Span.Value)
}
