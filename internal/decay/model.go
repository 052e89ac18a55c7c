package decay

import (
	"math"

	"boretight/internal/air"
)

// The model of one hold, in terms of Δ = |bore − ambient|.
//
// Air enters (or leaves) through the leak at the throughput q(Δ) and the bore's
// content changes with it. The content, as a pressure difference, is
//
//	[Δ/γ + ((γ−1)/γ)·(φ·Δ + (1−φ)·Σ cₙ·Lₙ) + Σ κⱼ·Wⱼ] / (1 + Σ κⱼ)  =  S₀ − ∫ r·y(Δ) dt
//
// Lₙ is Δ behind a low-pass of time constant a²/(j₀ₙ²·α): the mean temperature of
// the air follows its pressure so, ring by ring of the bore (modes at the zeros of
// J₀, cₙ = 4/j₀ₙ²). φ is the share of the volume in passages so narrow (hose,
// stoppers) that their air is always as warm as the wall. Wⱼ is Δ behind a slow
// low-pass: pads and hoses that creep; the told volume includes what they give way
// in the end, hence the divisor. r is the isothermal pressure rate at the
// stated Δp and y the law of the leak, 1 there.
//
// Written like this, all that the draw leaves behind, warm air and creeping pads,
// is in L and W at the start, and these follow from the recorded readings alone:
// whatever the pump did need not be known.

// Parameters of the model, in this order; creep amplitudes follow.
const (
	pRate   = iota // r, Pa/s at the stated Δp
	pShare         // s, inertial share at the stated Δp
	pStart         // Δ at the start of the fit, Pa
	pBore          // ln(mean bore radius / told or assumed one)
	pTaper         // the bore runs from a·(1−w) to a·(1+w)
	pNarrow        // φ, share of the volume in narrow passages
	pCreep         // κ of the first creep time; more follow
)

// creepTimes are the time constants in s of the creep that is allowed for. A
// sum of two spaced so stands for any single one between and around them.
var creepTimes = [...]float64{2, 12}

const (
	nCreep = len(creepTimes)
	nDecay = pCreep + nCreep // parameters of the curve
	pZero  = nDecay          // zero at isolation, Pa
	pDrift = nDecay + 1      // drift of the zero, Pa/s
	nAll   = nDecay + 2
	nLows  = nHeat + nCreep
)

// knot is one point of the recorded draw: time before the start of the fit, Δ.
type knot struct{ t, delta float64 }

// model is all of the fit that does not change while it runs.
type model struct {
	law   air.Law // with Inertial left to the parameters
	heat  heat
	start [nLows]float64 // the low-passes at the start of the fit
	runs  []run          // from the start on
	nodes int            // values the curve is computed at: 1 + all steps
}

// run is a run of equal steps of time.
type run struct {
	h     float64 // s
	n     int
	ramps [nLows]ramp
}

// newModel prepares a fit from recorded knots: ages is the time from isolation to
// the start in s, length that from there to the end, tau the hold's time constant.
func newModel(law air.Law, h heat, history []knot, age, length, tau float64) (m model, times []float64) {
	m = model{law: law, heat: h}
	taus := m.taus()
	m.start = settle(history, &taus)
	m.runs, times = newRuns(age, length, tau)
	for i := range m.runs {
		for k, tau := range taus {
			m.runs[i].ramps[k] = newRamp(m.runs[i].h, tau)
		}
	}
	m.nodes = len(times)
	return m, times
}

// taus returns the time constants of all low-passes: heat, then creep.
func (m *model) taus() (out [nLows]float64) {
	copy(out[:], m.heat.taus[:])
	copy(out[nHeat:], creepTimes[:])
	return out
}

// newRuns covers the time from 0 to end with steps that grow with the age of the
// hold: the older it is, the slower everything in it.
func newRuns(age, end, tau float64) (runs []run, times []float64) {
	const steps = 8
	times = append(times, 0)
	for t := 0.0; t < end*(1-1e-9); {
		h := min(0.05*(age+t), 0.06*tau, 0.03*(end+age))
		n := steps
		if t+float64(n)*h >= end {
			n = int(math.Ceil((end - t) / h))
			h = (end - t) / float64(n)
		}
		for range n {
			t += h
			times = append(times, t)
		}
		runs = append(runs, run{h: h, n: n})
	}
	return runs, times
}

// settle runs low-passes through the recorded draw and returns where they are at
// its end, for a curve that was at 0 before.
func settle(history []knot, taus *[nLows]float64) (state [nLows]float64) {
	var h float64
	var c [nLows]ramp
	for k := 1; k < len(history); k++ {
		a, b := history[k-1], history[k]
		if dt := b.t - a.t; math.Abs(dt-h) > 1e-6 {
			h = dt
			for i, tau := range taus {
				c[i] = newRamp(h, tau)
			}
		}
		for i := range state {
			state[i] = c[i].keep*state[i] + c[i].old*a.delta + c[i].new*b.delta
		}
	}
	return state
}

// ramp takes a low-pass exactly through a straight piece of its input.
type ramp struct{ keep, old, new float64 }

func newRamp(h, tau float64) ramp {
	x := h / tau
	if x < 1e-5 { // the differences below would lose their digits
		return ramp{1 - x, x / 2, x / 2}
	}
	keep := math.Exp(-x)
	mean := -math.Expm1(-x) / x
	return ramp{keep, mean - keep, 1 - mean}
}

// content says how the content is made up: what follows Δ at once, the weights of
// the low-passes, and their derivatives by the parameters that shape them.
type content struct {
	prompt  float64
	weight  [nLows]float64
	dPrompt [nDecay]float64
	dWeight [nDecay][nLows]float64
}

func (m *model) content(p []float64, derive bool) *content {
	c := &content{}
	phi := p[pNarrow]
	w := m.heat.weights(p[pBore], p[pTaper])
	c.prompt = 1/air.Gamma + air.ReboundShare*phi
	for i, v := range w {
		c.weight[i] = air.ReboundShare * (1 - phi) * v
	}
	// The told volume includes what creep will have added in the end.
	whole := 1.0
	for j, kappa := range p[pCreep : pCreep+nCreep] {
		c.weight[nHeat+j] = kappa
		whole += kappa
	}
	if !derive {
		c.scale(1 / whole)
		return c
	}
	const h = 1e-4
	byBore := m.heat.weights(p[pBore]+h, p[pTaper])
	byTaper := m.heat.weights(p[pBore], p[pTaper]+h)
	c.dPrompt[pNarrow] = air.ReboundShare
	for i, v := range w {
		c.dWeight[pBore][i] = air.ReboundShare * (1 - phi) * (byBore[i] - v) / h
		c.dWeight[pTaper][i] = air.ReboundShare * (1 - phi) * (byTaper[i] - v) / h
		c.dWeight[pNarrow][i] = -air.ReboundShare * v
	}
	for j := range nCreep {
		c.dWeight[pCreep+j][nHeat+j] = 1
	}
	c.scale(1 / whole)
	for j := pCreep; j < nDecay; j++ {
		c.dPrompt[j] -= c.prompt / whole
		for i, v := range c.weight {
			c.dWeight[j][i] -= v / whole
		}
	}
	return c
}

// scale multiplies everything by k.
func (c *content) scale(k float64) {
	c.prompt *= k
	for i := range c.weight {
		c.weight[i] *= k
	}
	for j := range c.dPrompt {
		c.dPrompt[j] *= k
		for i := range c.dWeight[j] {
			c.dWeight[j][i] *= k
		}
	}
}

// curve computes Δ at every node, and with d its derivatives by all parameters:
// d[k*nDecay+j]. It reports false where the model has no solution.
func (m *model) curve(p []float64, delta, d []float64) bool {
	w := walk{c: m.content(p, d != nil), law: m.law, rate: p[pRate], now: p[pStart], x: m.start}
	w.law.Inertial = p[pShare]
	w.begin()
	delta[0] = w.now
	if d != nil {
		w.beginDerivatives()
		copy(d, w.dNow[:])
	}
	k := 0
	for i := range m.runs {
		r := &m.runs[i]
		w.enter(r)
		for range r.n {
			k++
			if !w.step(r, d != nil) {
				return false
			}
			delta[k] = w.now
			if d != nil {
				copy(d[k*nDecay:], w.dNow[:])
			}
		}
	}
	return true
}

// walk is the state of a curve on its way through time.
type walk struct {
	c    *content
	law  air.Law
	rate float64

	now       float64        // Δ, Pa
	left      float64        // content, Pa: loses what the leak lets through
	x         [nLows]float64 // low-passes
	y, yx, ys float64        // law at now, its slope, its derivative by share
	stiff     float64        // content gained per Pa of the next Δ, in this run

	dNow, dLeft [nDecay]float64
	dx          [nLows][nDecay]float64
}

func (w *walk) begin() {
	w.left = w.c.prompt * w.now
	for i, x := range w.x {
		w.left += w.c.weight[i] * x
	}
	w.y, w.yx, w.ys = w.law.Derivatives(w.now)
}

func (w *walk) beginDerivatives() {
	w.dNow[pStart] = 1
	for j := pBore; j < nDecay; j++ {
		w.dLeft[j] = w.c.dPrompt[j] * w.now
		for i, v := range w.c.dWeight[j] {
			w.dLeft[j] += v * w.x[i]
		}
	}
	w.dLeft[pStart] = w.c.prompt
}

func (w *walk) enter(r *run) {
	w.stiff = w.c.prompt
	for i := range r.ramps {
		w.stiff += w.c.weight[i] * r.ramps[i].new
	}
}

// step goes one step on: the trapezium rule for the leak, exact low-passes of a Δ
// that runs straight, solved for the next Δ.
func (w *walk) step(r *run, derive bool) bool {
	half := w.rate * r.h / 2
	left := w.left - half*w.y
	var part [nLows]float64
	for i := range part {
		part[i] = r.ramps[i].keep*w.x[i] + r.ramps[i].old*w.now
		left -= w.c.weight[i] * part[i]
	}
	next, ok := solveStep(w.law, w.stiff, half, left, w.now)
	if !ok {
		return false
	}
	y, yx, ys := w.law.Derivatives(next)
	yx = min(yx, 1e3/w.law.At) // a hole's law is upright at 0
	if derive {
		w.derive(r, &part, next, half, y, yx, ys)
	}
	w.left -= half * (w.y + y)
	for i := range w.x {
		w.x[i] = part[i] + r.ramps[i].new*next
	}
	w.now, w.y, w.yx, w.ys = next, y, yx, ys
	return true
}

// derive carries the derivatives through the same step.
func (w *walk) derive(r *run, part *[nLows]float64, next, half, y, yx, ys float64) {
	var rhs, dNext [nDecay]float64
	for j := range rhs {
		rhs[j] = -half * w.yx * w.dNow[j]
	}
	rhs[pShare] -= half * (w.ys + ys)
	rhs[pRate] -= r.h / 2 * (w.y + y)
	for j := range rhs {
		w.dLeft[j] += rhs[j] // what has flowed, as far as it is known before the next Δ
		rhs[j] = w.dLeft[j]
	}
	for i := range w.dx {
		wt, c := w.c.weight[i], r.ramps[i]
		dx := &w.dx[i]
		for j := range dx {
			dx[j] = c.keep*dx[j] + c.old*w.dNow[j]
			rhs[j] -= wt * dx[j]
		}
	}
	for j := pBore; j < nDecay; j++ {
		source := w.c.dPrompt[j] * next
		dw := &w.c.dWeight[j]
		for i, v := range dw {
			source += v * (part[i] + r.ramps[i].new*next)
		}
		rhs[j] -= source
	}
	slope := 1 / (w.stiff + half*yx)
	for j := range dNext {
		dNext[j] = rhs[j] * slope
		w.dLeft[j] -= half * yx * dNext[j]
	}
	for i := range w.dx {
		n := r.ramps[i].new
		dx := &w.dx[i]
		for j := range dx {
			dx[j] += n * dNext[j]
		}
	}
	w.dNow = dNext
}

// solveStep solves stiff·Δ + half·y(Δ) = left for Δ by Newton's method, from a
// start next to the solution.
func solveStep(law air.Law, stiff, half, left, start float64) (float64, bool) {
	delta := start
	for range 20 {
		y, yx, _ := law.Derivatives(delta)
		change := (left - stiff*delta - half*y) / (stiff + half*min(yx, 1e3/law.At))
		delta += change
		if math.IsNaN(delta) {
			return 0, false
		}
		if math.Abs(change) < 1e-6 {
			return delta, true
		}
	}
	return delta, true
}
