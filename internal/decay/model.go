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
//	Δ/γ + ((γ−1)/γ)·(φ·Δ + (1−φ)·Σ cₙ·Lₙ) + Σ κⱼ·Wⱼ  =  S₀ − ∫ r·y(Δ) dt
//
// Lₙ is Δ behind a low-pass of time constant a²/(j₀ₙ²·α): the mean temperature of
// the air follows its pressure so, ring by ring of the bore (modes at the zeros of
// J₀, cₙ = 4/j₀ₙ²). φ is the share of the volume in passages so narrow (hose,
// stoppers) that their air is always as warm as the wall. Wⱼ is Δ behind a slow low-pass: pads and hoses that creep. r is
// the isothermal pressure rate at the stated Δp and y the law of the leak, 1 there.
//
// Written like this, all that the draw leaves behind, warm air and creeping pads,
// is in L and W at the start, and these follow from the recorded readings alone:
// whatever the pump did need not be known.

// Parameters of the model, in this order; creep amplitudes follow.
const (
	pRate   = iota // r, Pa/s at the stated Δp
	pShare         // s, inertial share at the stated Δp
	pStart         // Δ at the start of the fit, Pa
	pBore          // ln(bore radius / told or assumed one)
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
)

// heatModes is how many modes of heat are followed singly; one more stands for
// the rest (see air.DrawModes).
const heatModes = 5

const nModes = heatModes + 1 + nCreep

// knot is one point of the recorded draw: time before the start of the fit, Δ.
type knot struct{ t, delta float64 }

// model is all of the fit that does not change while it runs.
type model struct {
	law     air.Law // with Inertial left to the parameters
	radius  float64 // m, at pBore = 0
	alpha   float64 // m²/s
	modes   air.Modes
	history []knot // from rest to the start of the fit, in order; times ≤ 0
	steps   []step // from the start on
	nodes   int    // values the curve is computed at: 1 + all steps
}

// step is a run of equal steps of time.
type step struct {
	h float64 // s
	n int
}

// newSteps covers the time from 0 to end. since is the time from isolation to 0:
// the older the hold, the slower everything in it. tau is its time constant.
func newSteps(since, end, tau float64) (steps []step, times []float64) {
	const run = 8
	times = append(times, 0)
	for t := 0.0; t < end; {
		h := min(0.05*(since+t), 0.06*tau, 0.03*(end+since))
		n := run
		if t+float64(n)*h >= end {
			n = int(math.Ceil((end - t) / h))
			h = (end - t) / float64(n)
		}
		for range n {
			t += h
			times = append(times, t)
		}
		if t > end*(1-1e-12) {
			t = end
		}
		steps = append(steps, step{h, n})
	}
	return steps, times
}

// low is one low-pass: its share in the content and its time constant.
type low struct{ weight, tau float64 }

// lows returns heat and creep of a parameter vector as low-passes.
func (m *model) lows(p []float64) [nModes]low {
	var out [nModes]low
	a := m.radius * math.Exp(p[pBore])
	for i, mode := range m.modes {
		out[i] = low{air.ReboundShare * (1 - p[pNarrow]) * mode.Weight, mode.TimeConstant(a, m.alpha)}
	}
	for j := range nCreep {
		out[heatModes+1+j] = low{p[pCreep+j], creepTimes[j]}
	}
	return out
}

// settle runs the low-passes through the recorded draw and returns where they are
// at the start of the fit, for a curve that was at 0 before.
func (m *model) settle(ls *[nModes]low) (state [nModes]float64) {
	var h float64
	var c [nModes]ramp
	for k := 1; k < len(m.history); k++ {
		a, b := m.history[k-1], m.history[k]
		if dt := b.t - a.t; math.Abs(dt-h) > 1e-9 {
			h = dt
			for i, l := range ls {
				c[i] = newRamp(h, l.tau)
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

// curve computes Δ at every node, and with d its derivatives by all parameters but
// pBore: d[k*nDecay+j]. It reports false where the model has no solution.
func (m *model) curve(p []float64, delta, d []float64) bool {
	ls := m.lows(p)
	x := m.settle(&ls)
	var dx [nModes][nDecay]float64 // derivatives of the low-passes' states
	var dNow, dContent [nDecay]float64

	now := p[pStart]
	rate := p[pRate]
	law := m.law
	law.Inertial = p[pShare]
	prompt := 1/air.Gamma + air.ReboundShare*p[pNarrow] // what follows Δ at once
	content := now * prompt                             // of the whole, at the start; loses what the leak lets through
	dContent[pStart] = prompt
	dContent[pNarrow] = air.ReboundShare * (now - m.warm(&x))
	dNow[pStart] = 1
	for i, l := range ls {
		content += l.weight * x[i]
		if i > heatModes {
			dContent[pCreep+i-heatModes-1] = x[i]
		}
	}
	y, yx, ys := law.Derivatives(now)
	delta[0] = now
	if d != nil {
		copy(d, dNow[:])
	}
	k := 0
	for _, s := range m.steps {
		var c [nModes]ramp
		stiff := prompt
		for i, l := range ls {
			c[i] = newRamp(s.h, l.tau)
			stiff += l.weight * c[i].new
		}
		half := rate * s.h / 2
		for range s.n {
			k++
			left := content - half*y
			var part [nModes]float64
			for i := range part {
				part[i] = c[i].keep*x[i] + c[i].old*now
				left -= ls[i].weight * part[i]
			}
			next, ok := solveStep(law, stiff, half, left, now, yx)
			if !ok {
				return false
			}
			y2, yx2, ys2 := law.Derivatives(next)
			if d != nil {
				slope := stiff + half*yx2
				var dNext [nDecay]float64
				for j := range dNext {
					if j == pBore {
						continue
					}
					dy, dy2 := yx*dNow[j], 0.0
					if j == pShare {
						dy += ys
						dy2 = ys2
					}
					r := dContent[j] - half*(dy+dy2)
					if j == pRate {
						r -= s.h / 2 * (y + y2)
					}
					for i := range dx {
						r -= ls[i].weight * (c[i].keep*dx[i][j] + c[i].old*dNow[j])
					}
					if j == pNarrow {
						r -= air.ReboundShare * (next - m.warmNext(&part, &c, next))
					}
					if j >= pCreep {
						i := heatModes + 1 + j - pCreep
						r -= part[i] + c[i].new*next
					}
					dNext[j] = r / slope
					// What has flowed until now is taken from the content.
					dContent[j] -= half * (dy + dy2 + yx2*dNext[j])
					if j == pRate {
						dContent[j] -= s.h / 2 * (y + y2)
					}
				}
				for i := range dx {
					for j := range dNext {
						dx[i][j] = c[i].keep*dx[i][j] + c[i].old*dNow[j] + c[i].new*dNext[j]
					}
				}
				dNow = dNext
				copy(d[k*nDecay:], dNow[:])
			}
			content -= half * (y + y2)
			for i := range x {
				x[i] = part[i] + c[i].new*next
			}
			now, y, yx, ys = next, y2, yx2, ys2
			delta[k] = now
		}
	}
	return true
}

// warm is Σ cₙ·Lₙ: Δ as the air's warmth follows it.
func (m *model) warm(x *[nModes]float64) (sum float64) {
	for i, mode := range m.modes {
		sum += mode.Weight * x[i]
	}
	return sum
}

// warmNext is the same at the end of a step, whose known part is given.
func (m *model) warmNext(part *[nModes]float64, c *[nModes]ramp, next float64) (sum float64) {
	for i, mode := range m.modes {
		sum += mode.Weight * (part[i] + c[i].new*next)
	}
	return sum
}

// solveStep solves stiff·Δ + half·y(Δ) = left for Δ by Newton's method, from a
// start next to the solution.
func solveStep(law air.Law, stiff, half, left, start, slope float64) (float64, bool) {
	delta := start
	for range 20 {
		y, yx, _ := law.Derivatives(delta)
		if math.IsInf(yx, 0) {
			yx = slope
		}
		change := (left - stiff*delta - half*y) / (stiff + half*yx)
		delta += change
		if math.IsNaN(delta) {
			return 0, false
		}
		if math.Abs(change) < 1e-7 {
			return delta, true
		}
	}
	return delta, true
}
