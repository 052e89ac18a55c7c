package rig

import (
	"fmt"
	"math"
)

// Names of what takes a new value in each step.
const (
	sourceBefore     = "pressure before"
	sourceAfter      = "pressure after"
	sourceRateBefore = "rate before"
	sourceRateAfter  = "rate after"
	sourceInstant    = "instant of the step"
)

// SyringeStep is a known step of a syringe on the sealed joint, at the sign and level
// of a hold: V = ΔV·p2/(p1 − p2) in absolute pressures (Boyle), both carried to the
// instant of the step and freed of the heat's lag.
//
// Live, the bench draws to a fifth or a quarter of the stated difference, isolates, lets
// the heat settle and holds for 3 s or more, asks for the step that takes Δp to where
// holds are, lets the heat settle again and holds as long. [FindStep] makes both sides of
// the readings from isolation on (heat settled) to before the vent. A slow step does no
// harm but for its instant. Three steps and [MeanVolume] are better than one.
type SyringeStep struct {
	// Step is ΔV in m³, positive when the plunger draws air out of the bore. A plunger that
	// is pushed in is pushed home: what it held before belongs to no hold.
	Step Measured
	// Dead is what of syringe and nozzle was open in the step and is shut off in holds, m³.
	Dead Measured
	// StaysOpen tells that the syringe stays open to the bore in holds, its plunger where
	// it was left, so that ΔV belongs to the hold's volume.
	StaysOpen bool
	// Before and After are carried to the instant of the step, InstantU is how well that
	// is known in s; see [FindStep].
	Before, After Side
	InstantU      float64
	Ambient       Measured // absolute, of the station, Pa
	// SpanU is the gauge's relative standard uncertainty of span, which both sides share.
	SpanU float64
	// Bore is the heat diameter in m; zero when not known.
	Bore        Measured
	Temperature float64 // of room and wall, K
}

// Volume returns what is enclosed in a hold, rig included, or why it cannot be known.
func (s SyringeStep) Volume() (Volume, error) {
	if err := s.validate(); err != nil {
		return Volume{}, err
	}
	lag := newHeatLag(s.Bore, s.Ambient.Value, s.Temperature)
	if err := s.visible(lag); err != nil {
		return Volume{}, err
	}
	v := Volume{Result: propagate(s.model(), s.sources(lag)), Method: BySyringe, RigIncluded: true}
	doubts, err := s.sealed()
	if err != nil {
		return Volume{}, err
	}
	v.Doubts = doubts
	if early := lag.tooEarly(s.After.Wait); early != "" {
		v.Doubts = append(v.Doubts, early)
	}
	return v.accept("take a larger step, or hold still for longer on both sides of it")
}

// sources are the inputs of model, in its order. Rate and pressure of one side come from
// one line and hang together, but the rate only counts times the short lag of the heat.
func (s SyringeStep) sources(lag heatLag) []source {
	return []source{
		{name: "syringe", Measured: s.Step},
		{name: "ambient pressure", Measured: s.Ambient},
		{name: "span of the gauge", Measured: Measured{1, s.SpanU}},
		{name: sourceBefore, Measured: s.Before.Pressure, dof: s.Before.Dof},
		{name: sourceAfter, Measured: s.After.Pressure, dof: s.After.Dof},
		{name: sourceRateBefore, Measured: s.Before.Rate, dof: s.Before.Dof},
		{name: sourceRateAfter, Measured: s.After.Rate, dof: s.After.Dof},
		{name: "heat", Measured: lag.Measured},
		{name: "dead volume of the syringe", Measured: s.Dead},
		{name: sourceInstant, Measured: Measured{0, s.InstantU}},
	}
}

// model is Boyle's law on inputs in the order of sources.
func (s SyringeStep) model() model {
	open := 0.0
	if s.StaysOpen || s.Step.Value < 0 {
		open = 1
	}
	return func(x []float64) float64 {
		step, ambient, span, lag := x[0], x[1], x[2], x[7]
		before := ambient + span*(x[3]+(x[9]-lag)*x[5])
		after := ambient + span*(x[4]+x[9]*x[6]-lag*(2*x[6]-x[5]))
		return step*after/(before-after) + open*step - x[8]
	}
}

// validate refuses what is missing or cannot be.
func (s SyringeStep) validate() error {
	for _, m := range []Measured{s.Step, s.Dead, s.Before.Pressure, s.Before.Rate, s.After.Pressure, s.After.Rate, s.Ambient, s.Bore, {s.Temperature, s.SpanU}, {0, s.InstantU}} {
		if !m.sound() {
			return &Refusal{doingVolume, "a figure of the syringe step is not a number, or its uncertainty is below zero", ""}
		}
	}
	switch {
	case s.Step.Value == 0:
		return &Refusal{doingVolume, "the syringe's step is not told", "say how many millilitres it moved"}
	case s.Dead.Value < 0:
		return &Refusal{doingVolume, "the syringe's dead volume is below zero", ""}
	case s.Dead.Value > 0 && s.StaysOpen:
		return &Refusal{doingVolume, "the syringe's dead volume would be taken off although the syringe stays open", "tell one or the other"}
	case !(s.Ambient.Value > 3e4 && s.Ambient.Value < 12e4):
		return &Refusal{doingVolume, fmt.Sprintf("a room at %.5g Pa", s.Ambient.Value), "tell the pressure of the station, not that of the sea"}
	case !(s.Temperature > 230 && s.Temperature < 330):
		return &Refusal{doingVolume, fmt.Sprintf("a room at %.4g K", s.Temperature), ""}
	}
	return nil
}

// visible refuses a step that the gauge did not see or that went the wrong way.
func (s SyringeStep) visible(lag heatLag) error {
	step := propagate(func(x []float64) float64 { return x[3] - x[4] - lag.Value*2*(x[5]-x[6]) }, s.sources(lag))
	switch {
	case math.Abs(step.Value) < 5*step.U || step.Value == 0:
		return &Refusal{doingVolume,
			fmt.Sprintf("the step is too small to see: the pressure changed by %.1f Pa, known to %.1f Pa", math.Abs(step.Value), step.U),
			"take a larger step; at 40 ml one millilitre makes 2.5 kPa"}
	case (step.Value > 0) != (s.Step.Value > 0):
		return &Refusal{doingVolume, "the pressure changed the other way than the plunger moved", "check the sign of the step and whether the bore was sealed"}
	}
	return nil
}

// sealed compares the leak after the step with the one before. What leaked before leaks
// more at a larger difference, at most in proportion; more than that is a seal that
// gave way or something that creeps. It is weighed by what it takes from the step
// until the first reading counts.
func (s SyringeStep) sealed() (doubts []string, err error) {
	leak := func(side Side) float64 { return -math.Copysign(1, side.Pressure.Value) * side.Rate.Value }
	before, after := math.Abs(s.Before.Pressure.Value), math.Abs(s.After.Pressure.Value)
	size := math.Abs(s.Before.Pressure.Value - s.After.Pressure.Value)
	lost := func(rate float64) float64 { return rate * max(s.After.Wait, 1) / size }

	expected, u := 0.0, math.Hypot(s.Before.Rate.U, s.After.Rate.U)
	if before > 0.05*after && s.Before.Pressure.Value*s.After.Pressure.Value > 0 {
		ratio := after / before
		expected = max(leak(s.Before), 0) * max(ratio, math.Sqrt(ratio))
		u = math.Hypot(s.Before.Rate.U*ratio, s.After.Rate.U)
	} else if lost(leak(s.After)) < 0.25 {
		expected = leak(s.After) // from rest nothing is known of the leak beforehand
	}
	excess := leak(s.After) - expected
	switch {
	case excess > 3*u && lost(excess) > 0.1:
		return nil, &Refusal{doingVolume,
			fmt.Sprintf("the seal was lost, or the joint leaks too fast for a step: after it the pressure runs away at %.3g Pa/s, where %.3g Pa/s was to be expected", leak(s.After), expected),
			"seat stoppers and syringe again and repeat the step, from a small suction rather than from rest"}
	case excess > 3*u && lost(excess) > 0.01:
		doubts = append(doubts, fmt.Sprintf("After the step the pressure runs away at %.3g Pa/s instead of %.3g Pa/s: pads creep, or a seal gives way.", leak(s.After), expected))
	case leak(s.After) < -3*s.After.Rate.U && lost(-leak(s.After)) > 0.01:
		doubts = append(doubts, "After the step the pressure still moved away from ambient: the plunger crept, or the bore changed its warmth.")
	}
	return doubts, nil
}
