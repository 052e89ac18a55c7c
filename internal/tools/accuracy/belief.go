package main

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"
)

// belief is a normal distribution cut to what can be.
type belief struct{ mean, u, low, high float64 }

// nothing is believed of what is measured alone.
var nothing = belief{u: math.Inf(1), low: math.Inf(-1), high: math.Inf(1)}

// about is a belief without bounds.
func about(mean, u float64) belief { return belief{mean, u, math.Inf(-1), math.Inf(1)} }

// variance is that of what is left within the bounds, which is less than u².
func (b belief) variance() float64 {
	if math.IsInf(b.u, 1) {
		return b.u
	}
	n := distuv.UnitNormal
	at := func(x float64) (z, cumulative, density, moment float64) {
		z = (x - b.mean) / b.u
		if math.IsInf(z, 0) {
			return z, n.CDF(z), 0, 0
		}
		return z, n.CDF(z), n.Prob(z), z * n.Prob(z)
	}
	_, c0, d0, m0 := at(b.low)
	_, c1, d1, m1 := at(b.high)
	share := c1 - c0
	lean := (d0 - d1) / share
	return b.u * b.u * (1 + (m0-m1)/share - lean*lean)
}

// draw draws from it.
func (b belief) draw(random *rand.Rand) float64 {
	for {
		if x := b.mean + b.u*random.NormFloat64(); x >= b.low && x <= b.high {
			return x
		}
	}
}

// beliefs are what the estimate believes of a joint, stated once more.
type beliefs struct {
	share, bore, taper, narrow, warm belief
	creep                            [4]belief
}

// zeroDrift is what is believed of the drift of the zero in Pa/s, ventLeft the share of
// the difference that may be left in the bore after a vent.
const zeroDrift, ventLeft = 0.03, 3e-4

// beliefs of a joint that leaks at the rate in Pa·m³/s.
func (k told) beliefs(rate float64) beliefs {
	const trickle = 9e-5
	known := max(rate*rate/(rate*rate+trickle*trickle), 1e-9)
	narrow := min(2e-6/k.volume, 0.2)
	b := beliefs{
		share: belief{0.2 * known, 0.45 * known, 0, 1}, bore: about(0, 0.12), taper: belief{0.03, 0.05, 0, 0.4},
		narrow: belief{narrow, min(1.5*narrow+0.02, 0.25), 0, 1}, warm: about(0, 2e-4),
	}
	if k.radius > 0.012 {
		b.bore.u = 0.25
	}
	for j, u := range [...]float64{0.006, 0.005, 0.004, 0.002} {
		b.creep[j] = about(0, u)
	}
	return b
}
