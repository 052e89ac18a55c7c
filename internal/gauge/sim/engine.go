package sim

import (
	"math"
	"slices"
)

// Coefficients of the implicit two-stage step TR-BDF2 (Bank and others 1985): a
// trapezoidal stage over the part 2−√2 of the step, then a backward difference
// over the whole. Second order, and it damps the stiff heat of thin rings, which
// a plain trapezoid would let ring after every sudden change.
const (
	bdfGamma  = 2 - math.Sqrt2
	bdfWeight = bdfGamma / 2 // of dt, the same in both stages
	bdfMiddle = 1 / (bdfGamma * (2 - bdfGamma))
	bdfStart  = (1 - bdfGamma) * (1 - bdfGamma) * bdfMiddle
)

const (
	longestStep = 2e-3 // s
	firstStep   = 5e-6 // s, after anything sudden
	stepGrowth  = 1.3
)

// engine is the state of the gas while a scenario runs. Mass is kept as the
// conserved quantity m·R_s = Σ pV/T in Pa·m³/K, so that what flowed in and what
// is there agree to rounding.
type engine struct {
	air     Air
	joint   Joint
	columns []*column
	leaks   *flow
	events  timedEvents
	volume  float64 // geometric, m³, without the syringe
	syringe Barrel
	barrel  int // its place among columns, -1 for none

	t, p, mass float64
	stiff      float64 // d(mass)/dp of the last stage, for the next guess
	creep      float64 // w, Pa
	dry        float64 // Pa of vapour missing
	wall       []float64

	now, next slow
}

// slow is what changes so little within a step that it is taken at the ends.
type slow struct {
	ambient float64 // Pa
	extra   float64 // m³ added by bumps and taken by creep
	vapour  float64 // Pa·m³/s evaporating
	barrel  float64 // of air in the syringe, as a part of what its rings are cut from
}

// timedEvents are events with their times on the scenario's own clock.
type timedEvents struct {
	Events
	flows    []*flow // one for each opening
	isolated []float64
	breaks   []float64 // instants at which something begins or ends, in order
}

func newTimedEvents(e Events, isolated []float64, air Air, reach float64) timedEvents {
	timed := timedEvents{Events: e, isolated: isolated}
	for _, o := range e.Openings {
		timed.flows = append(timed.flows, newFlow([]Leak{o.Leak}, air, reach))
		t := isolated[o.Hold]
		timed.breaks = append(timed.breaks, t+o.From, t+o.From+o.Over)
		if o.Until > 0 {
			timed.breaks = append(timed.breaks, t+o.Until, t+o.Until+o.Closing)
		}
	}
	for _, b := range e.Bumps {
		t := isolated[b.Hold] + b.At
		// Points within, so that no step can leap over a short knock.
		for i := range 9 {
			timed.breaks = append(timed.breaks, t+b.Seconds*float64(i)/8)
		}
	}
	for _, p := range e.Plungers {
		t := isolated[p.Hold] + p.At
		timed.breaks = append(timed.breaks, t, t+p.Seconds/2, t+p.Seconds)
	}
	for _, l := range e.Lamps {
		t := isolated[l.Hold] + l.At
		timed.breaks = append(timed.breaks, t, t+l.Seconds)
	}
	slices.Sort(timed.breaks)
	return timed
}

// bumped is the volume added at time t, in m³.
func (e *timedEvents) bumped(t float64) float64 {
	var v float64
	for _, b := range e.Bumps {
		v += b.volume(t - e.isolated[b.Hold])
	}
	return v
}

// warmth is the rise of the wall of a segment at time t, in K.
func (e *timedEvents) warmth(t float64, segment int) float64 {
	var rise float64
	for _, l := range e.Lamps {
		if l.Segment < 0 || l.Segment == segment {
			rise += l.warmth(t - e.isolated[l.Hold])
		}
	}
	return rise
}

func newEngine(s Scenario, isolated []float64) *engine {
	reach := s.reach()
	joint := s.enclosed()
	stretches, barrel := joint.Segments, -1
	if s.Barrel != (Barrel{}) || len(s.Events.Plungers) > 0 {
		stretches, barrel = append(stretches, s.Barrel.segment()), len(stretches)
	}
	e := &engine{
		air:     s.Air,
		joint:   joint,
		leaks:   newFlow(s.seats(), s.Air, reach),
		events:  newTimedEvents(s.Events, isolated, s.Air, reach),
		volume:  joint.Volume(),
		syringe: s.Barrel,
		barrel:  barrel,
		p:       s.Air.Ambient,
		dry:     s.Joint.Moisture.Dry,
		wall:    make([]float64, len(stretches)),
	}
	known := map[int]*rings{}
	for _, seg := range stretches {
		n := seg.rings()
		if known[n] == nil {
			known[n] = newRings(n)
		}
		e.columns = append(e.columns, newColumn(seg, known[n], s.Air.Temperature))
	}
	e.walls(0)
	e.now = e.slowly(0)
	for _, c := range e.columns {
		// Before the first step every ring is at the wall's temperature.
		copy(c.free, c.theta)
	}
	e.mass, e.stiff = e.content(e.p, e.now)
	return e
}

// walls sets the wall temperatures of time t.
func (e *engine) walls(t float64) {
	for i := range e.wall {
		e.wall[i] = e.air.Temperature + e.air.WallDrift*t + e.events.warmth(t, i)
	}
}

// slowly returns the slow quantities of time t.
func (e *engine) slowly(t float64) slow {
	return slow{
		ambient: e.air.Ambient + e.air.AmbientDrift*t,
		extra:   e.events.bumped(t) - e.volume*e.creep/e.air.Ambient,
		vapour:  e.evaporating(),
		barrel:  e.events.barrel(e.syringe, t) / barrelVolume,
	}
}

func (e *engine) evaporating() float64 {
	if e.joint.Moisture.Tau == 0 {
		return 0
	}
	return e.volume * e.dry / e.joint.Moisture.Tau
}

// content returns m·R_s at pressure p and its derivative by p, for the stage
// solution that the columns hold. It is the ideal gas, ring by ring.
func (e *engine) content(p float64, at slow) (mass, slope float64) {
	pi := e.pi(p)
	var sum, sumSlope float64
	for i, c := range e.columns {
		s, d := c.amount(pi, e.wall[i])
		if i == e.barrel {
			s, d = at.barrel*s, at.barrel*d
		}
		sum += s
		sumSlope += d
	}
	// Volume that gives is taken at the first wall's temperature.
	give := e.volume * e.joint.Compliance / e.air.Ambient
	extra := at.extra - give*(at.ambient-p)
	mass = p * (sum + extra/e.wall[0])
	slope = sum + poisson*sumSlope + (extra+p*give)/e.wall[0]
	return mass, slope
}

// pi is (p/p₀)^((γ−1)/γ). The binomial series is good to rounding over the range
// of a test and three times as fast as a power; half of all time went here.
func (e *engine) pi(p float64) float64 {
	x := (p - e.air.Ambient) / e.air.Ambient
	if math.Abs(x) > 0.04 {
		return math.Exp(poisson * math.Log1p(x))
	}
	const (
		b1 = poisson
		b2 = (poisson - 1) / 2
		b3 = (poisson - 2) / 3
		b4 = (poisson - 3) / 4
		b5 = (poisson - 4) / 5
		b6 = (poisson - 5) / 6
		b7 = (poisson - 6) / 7
		b8 = (poisson - 7) / 8
		b9 = (poisson - 8) / 9
	)
	return 1 + b1*x*(1+b2*x*(1+b3*x*(1+b4*x*(1+b5*x*(1+b6*x*(1+b7*x*(1+b8*x*(1+b9*x))))))))
}

// inflow returns d(m·R_s)/dt at pressure p and time t, and its derivative by p.
func (e *engine) inflow(p, t float64, at slow) (rate, slope float64) {
	delta := at.ambient - p
	q, dq := e.leaks.at(delta)
	for i, o := range e.events.Openings {
		part := o.part(t - e.events.isolated[o.Hold])
		if part > 0 {
			extra, dextra := e.events.flows[i].at(delta)
			q += part * extra
			dq += part * dextra
		}
	}
	return (q + at.vapour) / e.air.Temperature, -dq / e.air.Temperature
}

// step advances by dt. A nil led leaves the bore alone; else it gives the
// absolute pressure at a time, and mass follows.
func (e *engine) step(dt float64, led func(t float64) float64) {
	middle, end := e.t+bdfGamma*dt, e.t+dt
	e.relax(dt)
	e.next = e.slowly(end)
	between := e.now.mix(e.next, bdfGamma)

	start := e.p
	startPi := e.pi(start)
	for i, c := range e.columns {
		c.weigh(bdfWeight * dt * diffusivity(e.wall[i], start) / (c.radius * c.radius))
		c.trapezoid(e.wall[i] / startPi)
	}
	w := bdfWeight * dt
	rate, slope := e.inflow(start, e.t, e.now)
	e.walls(middle)
	st := stage{base: e.mass + w*rate, weight: w, t: middle, at: between, led: led}
	p, massMiddle := e.find(st, start+rate/(e.stiff-w*slope)*bdfGamma*dt)
	pi := e.pi(p)
	for i, c := range e.columns {
		c.settle(c.middle, e.wall[i]/pi)
		c.backward()
	}
	e.walls(end)
	st = stage{base: bdfMiddle*massMiddle - bdfStart*e.mass, weight: w, t: end, at: e.next, led: led}
	p, e.mass = e.find(st, start+(p-start)/bdfGamma)
	pi = e.pi(p)
	for i, c := range e.columns {
		c.settle(c.theta, e.wall[i]/pi)
	}
	e.dryOut(start, p)
	e.t, e.p, e.now = end, p, e.next
}

// stage is one implicit equation, content(p) = base + weight·inflow(p), at time t.
type stage struct {
	base, weight, t float64
	at              slow
	led             func(t float64) float64 // if not nil, says p
}

// find solves a stage from a guess and returns its pressure and its mass: for a
// bore left alone what the flows have made it, for one that is led what it holds.
func (e *engine) find(s stage, p float64) (pressure, mass float64) {
	if s.led != nil {
		p = s.led(s.t)
		mass, e.stiff = e.content(p, s.at)
		return p, mass
	}
	for range 20 {
		held, stiff := e.content(p, s.at)
		rate, slope := e.inflow(p, s.t, s.at)
		change := (held - s.base - s.weight*rate) / (stiff - s.weight*slope)
		p -= change
		mass = s.base + s.weight*(rate-slope*change)
		e.stiff = stiff
		// Newton squares what is left: a change of 0.1 mPa leaves less than rounding.
		if math.Abs(change) < 1e-4 {
			break
		}
	}
	return p, mass
}

// relax carries creep and moisture over dt; both are far slower than a step.
func (e *engine) relax(dt float64) {
	if c := e.joint.Creep; c.Tau > 0 {
		e.creep += -math.Expm1(-dt/c.Tau) * (c.Kappa*(e.now.ambient-e.p) - e.creep)
	}
	if m := e.joint.Moisture; m.Tau > 0 {
		e.dry *= math.Exp(-dt / m.Tau)
	}
}

// dryOut thins the vapour with the gas: half the air drawn takes half of it.
func (e *engine) dryOut(before, after float64) {
	if m := e.joint.Moisture; m.Tau > 0 {
		e.dry -= (m.Saturation - e.dry) * (after/before - 1)
	}
}

func (s slow) mix(o slow, x float64) slow {
	return slow{
		ambient: s.ambient + x*(o.ambient-s.ambient),
		extra:   s.extra + x*(o.extra-s.extra),
		vapour:  s.vapour + x*(o.vapour-s.vapour),
		barrel:  s.barrel + x*(o.barrel-s.barrel),
	}
}
