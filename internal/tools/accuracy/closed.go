package main

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Closed forms of the Cramér–Rao bound of a plain exponential Δ₀e^(−kt) in white noise,
// read at intervals δt over a hold of length T, with kδt far below 1:
//
//	σ(k)/k ≥ (σ/Δ₀)·√(kδt)·f(kT)
//
// They know of no heat, law, creep or drift, so they lie below the bound of the whole
// model; how far is what these cost.

// knownZero is f where Δ₀ is unknown and the gauge's zero is known.
func knownZero(kT float64) float64 {
	s0, s1, s2 := squares(kT)
	return 1 / math.Sqrt(s2-s1*s1/s0)
}

// unknownZero is f where neither is known.
func unknownZero(kT float64) float64 {
	s0, s1, s2 := squares(kT)
	e := math.Exp(-kT)
	c0, c1 := 1-e, 1-e*(1+kT)
	var inverse mat.Dense
	// Of −x·e^(−x), e^(−x) and 1: what rate, Δ₀ and zero do to the curve.
	if inverse.Inverse(mat.NewDense(3, 3, []float64{s2, -s1, -c1, -s1, s0, c0, -c1, c0, kT})) != nil {
		return math.Inf(1)
	}
	return math.Sqrt(inverse.At(0, 0))
}

// squares are the integrals of xʲ·e^(−2x) from 0 to kT for j = 0, 1, 2.
func squares(kT float64) (s0, s1, s2 float64) {
	e := math.Exp(-2 * kT)
	return -math.Expm1(-2*kT) / 2, (1 - e*(1+2*kT)) / 4, (1 - e*(1+2*kT+2*kT*kT)) / 4
}
