package rig

import (
	"fmt"
	"math"
	"slices"
)

const doingCarry = "carry pressure to the step"

// Sample is one reading: seconds on any clock, gauge pressure in Pa.
type Sample struct{ Seconds, Pressure float64 }

// Side is the pressure on one side of a syringe step, carried through the leak to the
// instant of the step.
type Side struct {
	// Pressure is the gauge pressure at the instant, in Pa, with the uncertainty of
	// carrying it there; not of the gauge, which both sides share.
	Pressure Measured `json:"pressure_pa"`
	// Rate is that of the gauge pressure at the instant, in Pa/s.
	Rate Measured `json:"rate_pa_s"`
	// Dof are the degrees of freedom of both.
	Dof float64 `json:"dof"`
	// Wait is how far the nearest sample lies from the instant, in s.
	Wait float64 `json:"wait_s"`
}

// Carry brings readings of a held bore, all before or all after an instant, to that
// instant. After a step, leave out what came before the heat had settled, at least
// 5·a²/(7.18·α): 0.7 s in a bore of 9 mm, 2.6 s in one of 18 mm; see
// [SettleTime].
//
// The fall of Δp is fitted with the law of its leak: where the flow grows as Δpⁿ, the
// rate does too. n is taken to lie between 0.65 (cracks; Dols & Walton 2002) and 1 (a
// thin gap): the mean of both ends
// counts, and half of what they differ by is a rectangle's half-width. So the shorter
// the way to the instant, the better. Neighbouring residuals that resemble each other
// widen the uncertainty.
func Carry(samples []Sample, instant float64) (Side, error) {
	t, p, wait, err := unpack(samples, instant)
	if err != nil {
		return Side{}, err
	}
	gap, residuals := bent(t, p, 1)
	crack, _ := bent(t, p, 0.65)
	widen := memory(residuals)
	side := func(value, other, variance float64) Measured {
		return Measured{(value + other) / 2, math.Hypot(math.Sqrt(variance)*widen, (value-other)/2/math.Sqrt(3))}
	}
	return Side{
		Pressure: side(gap.Intercept, crack.Intercept, gap.Covariance.Intercept),
		Rate:     side(gap.Slope, crack.Slope, gap.Covariance.Slope),
		Dof:      gap.Dof / (widen * widen), Wait: wait,
	}, nil
}

// unpack takes the samples apart into seconds since the instant and pressures.
func unpack(samples []Sample, instant float64) (t, p []float64, wait float64, err error) {
	const fewest, shortest = 10, 1.0 // with fewer or less the slope is a guess
	if len(samples) < fewest {
		return nil, nil, 0, &Refusal{doingCarry, fmt.Sprintf("%d readings on one side, want at least %d", len(samples), fewest), "hold still for longer"}
	}
	wait = math.Inf(1)
	first, last := math.Inf(1), math.Inf(-1)
	for _, s := range samples {
		d := s.Seconds - instant
		if !finite(d) || !finite(s.Pressure) {
			return nil, nil, 0, &Refusal{doingCarry, "a reading that is not a number", ""}
		}
		t, p = append(t, d), append(p, s.Pressure)
		first, last, wait = min(first, d), max(last, d), min(wait, math.Abs(d))
	}
	if first < 0 && last > 0 {
		return nil, nil, 0, &Refusal{doingCarry, "readings from both sides of the step", "give those before and those after it apart"}
	}
	if last-first < shortest {
		return nil, nil, 0, &Refusal{doingCarry, fmt.Sprintf("%.2g s of readings on one side, want at least %.2g s", last-first, shortest), "hold still for longer"}
	}
	return t, p, wait, nil
}

// bent fits pressures to a line with the bend of a leak whose flow grows as Δp to the
// given power. The bend follows from the line itself, in rounds that each leave about
// the share of Δp that is lost in the time fitted.
func bent(t, p []float64, power float64) (l Line, residuals []float64) {
	const rounds = 12
	straight := slices.Clone(p)
	longest := max(math.Abs(t[0]), math.Abs(t[len(t)-1]))
	for range rounds {
		l, _ = FitLine(t, straight, nil, 0) // cannot fail: unpack has seen to the times
		// A line that runs through zero is drift about zero, not a leak: that is straight.
		leaks := math.Abs(l.Slope)*longest < math.Abs(l.Intercept)
		for i := range p {
			straight[i] = p[i]
			if leaks {
				straight[i] -= bend(l, t[i], power)
			}
		}
	}
	for i := range straight {
		straight[i] -= l.Value(t[i])
	}
	return l, straight
}

// bend is how far dP/dt = r·(P/P0)ⁿ has left its tangent P0 + r·t.
func bend(l Line, t, power float64) float64 {
	x := l.Slope * t / l.Intercept
	left := math.Exp(x)
	if power != 1 {
		left = math.Pow(1+(1-power)*x, 1/(1-power))
	}
	return l.Intercept * (left - 1 - x)
}

// memory is by how much the resemblance of neighbouring residuals widens what is known
// of a mean: √((1+ρ)/(1−ρ)), ρ at lag one, never below 1.
func memory(residuals []float64) float64 {
	var own, next float64
	for i, r := range residuals {
		own += r * r
		if i > 0 {
			next += r * residuals[i-1]
		}
	}
	if own == 0 {
		return 1
	}
	rho := min(max(next/own, 0), 0.95)
	return math.Sqrt((1 + rho) / (1 - rho))
}
