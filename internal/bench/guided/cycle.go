package guided

import (
	"fmt"
	"math"
	"sort"

	"boretight/internal/air"
	"boretight/internal/hold"
	"boretight/internal/rig"
)

// Syringe is what is told of the syringe and its step.
type Syringe struct {
	// Step is by how much the plunger is moved, in m³; its direction is seen.
	Step rig.Measured
	// Dead and StaysOpen are as in [rig.SyringeStep].
	Dead      rig.Measured
	StaysOpen bool
}

// next says what to do in one cycle of a sign, 0 when none has been seen yet: a plunger
// makes the difference larger when it is pulled in suction, and when it is pushed in
// pressure.
func (s Syringe) next(t Told, bore rig.Measured, sign air.Sign) string {
	before, after := waits(t, bore)
	if sign == air.Pressure {
		return fmt.Sprintf("with the plunger out by %.4g ml press to about %.1f kPa, shut the valve, keep still for %.0f s, push the plunger home, keep still for %.0f s, vent, pull the plunger out again.",
			s.Step.Value*1e6, t.at()/4e3, before, after)
	}
	return fmt.Sprintf("draw to about %.1f kPa, shut the valve, keep still for %.0f s, pull the plunger out by %.4g ml, keep still for %.0f s, vent, push the plunger home.",
		t.at()/4e3, before, s.Step.Value*1e6, after)
}

// Moment is when in a hold something is to be done by hand.
type Moment struct {
	After float64 // s after the valve was shut
	Text  string  // one sentence
}

// moment is when the plunger is to be moved, once the heat has settled.
func (s Syringe) moment(t Told, bore rig.Measured, sign air.Sign) Moment {
	before, after := waits(t, bore)
	move := fmt.Sprintf("pull the plunger out by %.4g ml", s.Step.Value*1e6)
	if sign == air.Pressure {
		move = "push the plunger home"
	}
	return Moment{before, fmt.Sprintf("Now %s, then keep still for %.0f s.", move, after)}
}

// waits are for how long a person is asked to keep still before a step and after it, in
// s: a valve is seen to be shut after 5 s in a tight joint, heat must have settled, and
// 3 s of readings or more count.
func waits(t Told, bore rig.Measured) (before, after float64) {
	const seen, counted = 8, 5
	settle := t.settle(bore)
	return max(seen, math.Ceil(settle+counted)), max(seen+2, math.Ceil(settle+counted))
}

// cycle gathers the holds of one movement of a plunger, all from one rest.
type cycle struct {
	ids   []string
	holds []*hold.Hold
}

// take adds a hold and reports whether the cycle is complete. A hold that ended with a
// new draw is followed by the one that this draw began; where that one does not go back
// to the same rest, something else happened, and the cycle begins with it.
func (c *cycle) take(id string, h *hold.Hold) (complete bool) {
	if len(c.holds) > 0 {
		first := c.holds[0]
		if len(h.Readings) == 0 || h.Readings[0].Seconds() > first.Isolation {
			*c = cycle{}
		}
	}
	c.ids = append(c.ids, id)
	c.holds = append(c.holds, h)
	return h.Ending != hold.Redrawn || !h.Isolated()
}

// moved is a syringe's step as it was seen.
type moved struct {
	step   rig.Step
	volume rig.Volume
	pulled bool // out of the bore
}

// measure finds the plunger's movement in a complete cycle and what it says of the volume.
func (c *cycle) measure(t Told, s Syringe, bore rig.Measured) (moved, error) {
	step, err := rig.FindStep(c.samples(t, bore), t.settle(bore))
	if err != nil {
		before, after := waits(t, bore)
		return moved{}, &rig.Refusal{
			Doing: "measure volume", Found: "no step of the plunger with rest on both sides of it is seen",
			Hint: fmt.Sprintf("shut the valve, keep still for %.0f s, move the plunger, keep still for %.0f s, vent", before, after),
		}
	}
	span := t.span()
	m := moved{step: step, pulled: step.After.Pressure.Value < step.Before.Pressure.Value}
	told := s.Step
	if !m.pulled {
		told.Value = -told.Value
	}
	m.volume, err = rig.SyringeStep{
		Step: told, Dead: s.Dead, StaysOpen: s.StaysOpen,
		Before: step.Before, After: step.After, InstantU: step.InstantU,
		Ambient: t.ambient(), SpanU: span.U, Bore: bore, Temperature: t.temperature(0).Value,
	}.Volume()
	return m, err
}

// samples are the readings of a cycle from the first isolation, its heat settled, to
// before the vent, against the level at rest and with the span corrected.
func (c *cycle) samples(t Told, bore rig.Measured) []rig.Sample {
	first, last := c.holds[0], c.holds[len(c.holds)-1]
	from := first.Isolation + t.settle(bore)
	span := t.span().Value
	var samples []rig.Sample
	for i, r := range last.Readings[:last.Held.To] {
		if r.Seconds() >= from && last.Usable(i) {
			samples = append(samples, rig.Sample{Seconds: r.Seconds(), Pressure: span * (r.Pressure - last.RestLevel)})
		}
	}
	return samples
}

// still returns the hold of the cycle that has no step in it: the one that the step
// began, or what came before the step as if it had been cut there.
func (c *seen) still() *hold.Hold {
	last := c.holds[len(c.holds)-1]
	if len(c.holds) > 1 {
		return last
	}
	duration := c.step.InstantU * 6 * math.Sqrt(3)
	begin := c.step.Instant - duration - 0.1
	cut := *last
	cut.Held.To = sort.Search(cut.Held.To, func(i int) bool { return cut.Readings[i].Seconds() >= begin })
	cut.Readings = cut.Readings[:cut.Held.To:cut.Held.To]
	cut.After = hold.Span{}
	cut.Ending = hold.Cut
	cut.Lost = cut.LostIn(cut.Held)
	return &cut
}

// without returns the rate of [seen.still] as it would be without the syringe's air. In
// the cycle's own holds the syringe is never shut off: its dead volume is open all the
// time, and what the plunger drew is where it is not home.
func (c *seen) without(s Syringe, r rig.Rate) rig.Rate {
	open := s.Dead
	if after := len(c.holds) > 1; c.pulled == after {
		open = rig.Measured{Value: open.Value + s.Step.Value, U: math.Hypot(open.U, s.Step.U)}
	}
	more := 1 + open.Value/c.volume.Value
	r.Shared = math.Hypot(more*r.Shared, r.Value*open.U/c.volume.Value)
	r.Value *= more
	r.Own *= more
	return r
}

// say tells of a step in one line.
func (m moved) say(s Syringe) string {
	way := "pushed in"
	if m.pulled {
		way = "pulled out"
	}
	return fmt.Sprintf("plunger %s by %.4g ml, from %.3g to %.3g kPa: %s", way, s.Step.Value*1e6,
		m.step.Before.Pressure.Value/1e3, m.step.After.Pressure.Value/1e3, say(m.volume.Measured, 1e-6, "ml"))
}

// astray says that a step led far from the stated difference at, in Pa, where holds are
// and the volume is wanted, and which step would lead there; empty when it did not, and of
// a step that lets the difference fall, which is drawn by hand.
func (m moved) astray(s Syringe, at float64) string {
	const far = 1.25
	before, after := math.Abs(m.step.Before.Pressure.Value), math.Abs(m.step.After.Pressure.Value)
	where := "well beyond"
	switch {
	case after <= before || after <= far*at && after*far >= at:
		return ""
	case after < at:
		where = "well short of"
	}
	text := fmt.Sprintf("; it ended %s the stated %.4g kPa: ", where, at/1e3)
	if before > at/2 { // twice the quarter asked for
		return text + fmt.Sprintf("begin at a quarter of that, %.2g kPa", at/4e3)
	}
	better := s.Step.Value * (at - before) / (after - before)
	return text + fmt.Sprintf("a step of %.2g ml would end there", better*1e6)
}
