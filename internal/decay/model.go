package decay

import (
	"math"

	"boretight/internal/air"
)

// The model of one hold, in terms of Δ = |bore − ambient|.
//
// Air enters (or leaves) through the leak at the throughput q(Δ), and what the bore
// contains changes with it. Content, as a pressure difference at the wall's
// temperature, is
//
//	C = [Δ − β(1−φ)·(p/p_a)·(Λ − Σ cₙ·Lₙ) + Σ κⱼ·Wⱼ] / (1 + Σ κⱼ),   dC/dt = −r·y(Δ) − g
//
// with β = (γ−1)/γ, p the pressure in the bore and Λ = p_a·|ln(p/p_a)|, which is Δ
// to first order. Lₙ is Λ behind a low-pass of time constant a²/(j₀ₙ²·α): the mean
// temperature of the air follows its pressure so, ring by ring of the bore (modes at
// the zeros of J₀, cₙ = 4/j₀ₙ²); this is ∂θ/∂t = α∇²θ + β(T/p)·dp/dt, θ = 0 at the
// wall, solved for θ/T and any p(t). φ is the share of the volume in passages so
// narrow (hose, stoppers) that their air is always as warm as the wall. Wⱼ is Λ
// behind a slow low-pass: pads and hoses that creep; the told volume includes what
// they give way in the end, hence the divisor. r is the isothermal pressure rate at
// the stated Δp and y the law of the leak, 1 there. g is what walls that grow warmer
// or colder take off Δ, whatever is left of it: p/T times their pace.
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
	pTaper         // w²: the bore runs from a·(1−w) to a·(1+w), and heat does not tell w from −w
	pNarrow        // φ, share of the volume in narrow passages
	pWarm          // g, Pa/s that warming or cooling of the walls takes off Δ
	pCreep         // κ of the first creep time; more follow
)

// creepTimes are the time constants in s of the creep that is allowed for. A
// sum of two spaced so stands for any single one between and around them.
var creepTimes = [...]float64{0.5, 1.2, 3, 7.5}

const (
	nCreep = len(creepTimes)
	nDecay = pCreep + nCreep // parameters of the curve
	pZero  = nDecay          // zero at isolation, Pa
	pDrift = nDecay + 1      // drift of the zero, Pa/s
	nAll   = nDecay + 2
	nLows  = nCreep + nHeat
)

// knot is one point of the recorded draw: time before the start of the fit, Δ.
type knot struct{ t, delta float64 }

// model is all of the fit that does not change while it runs.
type model struct {
	law   air.Law // with Inertial left to the parameters
	heat  heat
	lows  int            // low-passes in use: those of creep, then those of heat
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

// newModel prepares a fit from recorded knots: age is the time from isolation to
// the start in s, length that from there to the end, tau the hold's time constant.
func newModel(law air.Law, h heat, history []knot, age, length, tau float64) (m model, times []float64) {
	m = model{law: law, heat: h, lows: nCreep + h.n}
	taus := m.taus()
	m.start = settle(law, history, taus)
	m.runs, times = newRuns(age, length, tau)
	for i := range m.runs {
		for k, tau := range taus {
			m.runs[i].ramps[k] = newRamp(m.runs[i].h, tau)
		}
	}
	m.nodes = len(times)
	return m, times
}

// until is the model with no more steps than it takes to the time t in s from the start.
func (m *model) until(t float64) model {
	short := *m
	short.nodes = 1
	for i, r := range m.runs {
		short.nodes += r.n
		if t -= r.h * float64(r.n); t <= 0 {
			short.runs = m.runs[:i+1]
			break
		}
	}
	return short
}

// taus returns the time constants of all low-passes: creep, then heat.
func (m *model) taus() []float64 {
	return append(creepTimes[:nCreep:nCreep], m.heat.taus[:m.heat.n]...)
}

// newRuns covers the time from 0 to end with steps that grow with the age of the
// hold: the older it is, the slower everything in it.
func newRuns(age, end, tau float64) (runs []run, times []float64) {
	const steps = 8
	times = append(times, 0)
	for t := 0.0; t < end*(1-1e-9); {
		h := max(min(0.07*(age+t), 0.08*tau, 0.04*(end+age)), end/1e4)
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
func settle(law air.Law, history []knot, taus []float64) (state [nLows]float64) {
	var h, from float64
	var c [nLows]ramp
	for k, b := range history {
		_, to := logPressure(law, b.delta)
		if k == 0 {
			from = to
			continue
		}
		if dt := b.t - history[k-1].t; math.Abs(dt-h) > 1e-6 {
			h = dt
			for i, tau := range taus {
				c[i] = newRamp(h, tau)
			}
		}
		for i := range taus {
			state[i] = c[i].keep*state[i] + c[i].old*from + c[i].new*to
		}
		from = to
	}
	return state
}

// logPressure returns g = p/p_a and Λ = p_a·|ln g| for a Δ; dΛ/dΔ is 1/g.
func logPressure(law air.Law, delta float64) (g, lambda float64) {
	x := float64(law.Sign) * delta / law.Ambient
	return 1 + x, float64(law.Sign) * law.Ambient * math.Log1p(x)
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

// content says how C is made up, and how that depends on the parameters.
type content struct {
	unit  float64         // 1/(1+Σκ)
	heat  float64         // β(1−φ)/(1+Σκ)
	n     int             // low-passes of heat
	modes [nHeat]float64  // cₙ on the fixed time constants
	creep [nCreep]float64 // κ/(1+Σκ)

	byNarrow        float64 // dheat/dφ
	byBore, byTaper [nHeat]float64
}

func (m *model) content(p []float64, derive bool) *content {
	whole := 1.0
	for _, kappa := range p[pCreep : pCreep+nCreep] {
		whole += kappa
	}
	c := &content{
		unit: 1 / whole, heat: air.ReboundShare * (1 - p[pNarrow]) / whole,
		n: m.heat.n, modes: m.heat.weights(p[pBore], p[pTaper]), byNarrow: -air.ReboundShare / whole,
	}
	for j, kappa := range p[pCreep : pCreep+nCreep] {
		c.creep[j] = kappa / whole
	}
	if !derive {
		return c
	}
	const h = 1e-4
	bore, taper := m.heat.weights(p[pBore]+h, p[pTaper]), m.heat.weights(p[pBore], p[pTaper]+h)
	for i, v := range c.modes[:c.n] {
		c.byBore[i], c.byTaper[i] = (bore[i]-v)/h, (taper[i]-v)/h
	}
	return c
}

// at returns C for a Δ with its g and Λ, and the low-passes; and Σ cₙ·Lₙ of it.
func (c *content) at(delta, g, lambda float64, x *[nLows]float64) (value, warm float64) {
	for i, w := range c.modes[:c.n] {
		warm += w * x[nCreep+i]
	}
	value = c.unit*delta - c.heat*g*(lambda-warm)
	for j, k := range c.creep {
		value += k * x[j]
	}
	return value, warm
}

// shape adds, times k, the derivatives of C by the parameters that shape it, where
// C, g, Λ and the warmth are those of at.
func (c *content) shape(out *[nDecay]float64, k, value, g, lambda, warm float64, x *[nLows]float64) {
	var bore, taper float64
	for i := range c.n {
		bore += c.byBore[i] * x[nCreep+i]
		taper += c.byTaper[i] * x[nCreep+i]
	}
	out[pBore] += k * c.heat * g * bore
	out[pTaper] += k * c.heat * g * taper
	out[pNarrow] -= k * c.byNarrow * g * (lambda - warm)
	for j := range nCreep {
		out[pCreep+j] += k * c.unit * (x[j] - value)
	}
}

// curve computes Δ at every node, and with d its derivatives by all parameters:
// d[k*nDecay+j]. It reports false where the model has no solution.
func (m *model) curve(p []float64, delta, d []float64) bool {
	w := walk{c: m.content(p, d != nil), law: m.law, lows: m.lows, rate: p[pRate], warm: p[pWarm], now: p[pStart], x: m.start}
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
	lows int // low-passes in use
	rate float64
	warm float64 // g, Pa/s

	now       float64        // Δ, Pa
	pace      float64        // Pa/s of the last step: where Newton's method begins
	g, lambda float64        // of now
	left      float64        // C, Pa: loses what the leak lets through
	x         [nLows]float64 // low-passes
	y, yx, ys float64        // law at now, its slope, its derivative by share

	newHeat, newCreep float64 // what C gains per Pa of the next Λ through the low-passes, in this run

	dNow, dLeft [nDecay]float64
	dx          [nLows][nDecay]float64
}

func (w *walk) begin() {
	w.g, w.lambda = logPressure(w.law, w.now)
	w.left, _ = w.c.at(w.now, w.g, w.lambda, &w.x)
	w.y, w.yx, w.ys = w.law.Derivatives(w.now)
	w.yx = min(w.yx, 1e3/w.law.At) // a hole's law is upright at 0
}

func (w *walk) beginDerivatives() {
	value, warm := w.c.at(w.now, w.g, w.lambda, &w.x)
	w.c.shape(&w.dLeft, 1, value, w.g, w.lambda, warm, &w.x)
	w.dNow[pStart] = 1
	w.dLeft[pStart] = w.slope(w.lambda - warm)
}

// slope is dC/dΔ with the low-passes held, where they lag by the given Λ − Σ cₙLₙ.
func (w *walk) slope(lag float64) float64 {
	return w.c.unit - w.c.heat*(1+float64(w.law.Sign)*lag/w.law.Ambient)
}

func (w *walk) enter(r *run) {
	w.newHeat, w.newCreep = 0, 0
	for i, v := range w.c.modes[:w.c.n] {
		w.newHeat += v * r.ramps[nCreep+i].new
	}
	for j, v := range w.c.creep {
		w.newCreep += v * r.ramps[j].new
	}
}

// step goes one step on: the trapezium rule for the leak, exact low-passes of a Λ
// that runs straight, solved for the next Δ by Newton's method.
func (w *walk) step(r *run, derive bool) bool {
	half := w.rate * r.h / 2
	left := w.left - half*w.y - r.h*w.warm
	var x [nLows]float64
	for i, c := range r.ramps[:w.lows] {
		x[i] = c.keep*w.x[i] + c.old*w.lambda
	}
	var partHeat, partCreep float64
	for i, v := range w.c.modes[:w.c.n] {
		partHeat += v * x[nCreep+i]
	}
	for j, v := range w.c.creep {
		partCreep += v * x[j]
	}
	delta := w.now + w.pace*r.h
	var g, lambda, lag, slope, y, yx, ys float64
	for range 20 {
		g, lambda = logPressure(w.law, delta)
		lag = lambda - partHeat - w.newHeat*lambda
		y, yx, ys = w.law.Derivatives(delta)
		yx = min(yx, 1e3/w.law.At) // a hole's law is upright at 0
		value := w.c.unit*delta - w.c.heat*g*lag + partCreep + w.newCreep*lambda
		slope = w.slope(lag) + w.c.heat*w.newHeat + w.newCreep/g + half*yx
		change := (left - value - half*y) / slope
		if math.IsNaN(change) {
			return false
		}
		if math.Abs(change) < 1e-6 {
			break
		}
		delta += change
	}
	for i, c := range r.ramps[:w.lows] {
		x[i] += c.new * lambda
	}
	content := left - half*y
	if derive {
		w.derive(r, &x, delta, g, lambda, lag, slope, content, half, y, yx, ys)
	}
	w.left, w.x = content, x
	w.pace = (delta - w.now) / r.h
	w.now, w.g, w.lambda = delta, g, lambda
	w.y, w.yx, w.ys = y, yx, ys
	return true
}

// derive carries the derivatives through the same step.
func (w *walk) derive(r *run, x *[nLows]float64, delta, g, lambda, lag, slope, content, half, y, yx, ys float64) {
	var rhs [nDecay]float64
	for j := range rhs {
		rhs[j] = -half * w.yx * w.dNow[j]
	}
	rhs[pShare] -= half * (w.ys + ys)
	rhs[pRate] -= r.h / 2 * (w.y + y)
	rhs[pWarm] -= r.h
	for j := range rhs {
		w.dLeft[j] += rhs[j] // what has flowed, as far as it is known before the next Δ
		rhs[j] = w.dLeft[j]
	}
	var dLambda [nDecay]float64
	for j, v := range w.dNow {
		dLambda[j] = v / w.g
	}
	for i := range w.lows {
		wt := w.weight(i, g)
		c := r.ramps[i]
		dx := &w.dx[i]
		for j := range dx {
			dx[j] = c.keep*dx[j] + c.old*dLambda[j]
			rhs[j] -= wt * dx[j]
		}
	}
	w.c.shape(&rhs, -1, content, g, lambda, lambda-lag, x)
	for j := range w.dNow {
		w.dNow[j] = rhs[j] / slope
		w.dLeft[j] -= half * yx * w.dNow[j]
		dLambda[j] = w.dNow[j] / g
	}
	for i := range w.lows {
		n := r.ramps[i].new
		dx := &w.dx[i]
		for j := range dx {
			dx[j] += n * dLambda[j]
		}
	}
}

// weight is dC by low-pass i.
func (w *walk) weight(i int, g float64) float64 {
	if i < nCreep {
		return w.c.creep[i]
	}
	return w.c.heat * g * w.c.modes[i-nCreep]
}
