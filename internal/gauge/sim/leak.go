package sim

import (
	"fmt"
	"math"
)

// Leak is one leaking seat: a sharp entry, in which the air is accelerated and
// its kinetic energy is then lost, followed by a narrow channel in which it
// rubs. The two carry the same mass flow one after the other:
//
//	entry:   q = Area·√(R_s·T)·p₁·ψ(pᵢ/p₁)      Saint-Venant–Wantzel
//	channel: q = Viscous·(pᵢ² − p₂²)            Poiseuille, isothermal
//
// where q is throughput (Pa·m³/s), p₁ the higher pressure, p₂ the lower and pᵢ
// the pressure behind the entry. An infinite Area has no entry loss (purely
// laminar), an infinite Viscous has no channel (pure orifice). The zero Leak
// lets nothing through.
type Leak struct {
	// Name of the seat, for people.
	Name string
	// Area is the effective area of the entry, discharge coefficient included, m².
	Area float64
	// Viscous is the throughput per difference of squared pressures, m³/(s·Pa).
	Viscous float64
}

// NewOrifice returns a thin-edged hole of the given diameter in metres.
func NewOrifice(diameter, dischargeCoefficient float64) Leak {
	return Leak{
		Name:    "orifice",
		Area:    dischargeCoefficient * math.Pi / 4 * diameter * diameter,
		Viscous: math.Inf(1),
	}
}

// NewNeedle returns a purely laminar round channel, such as a hypodermic needle
// used as a reference leak, of inner diameter and length in metres.
func NewNeedle(diameter, length float64, air Air) Leak {
	air = air.withDefaults()
	return Leak{
		Name:    "needle",
		Area:    math.Inf(1),
		Viscous: math.Pi * math.Pow(diameter, 4) / (256 * viscosity(air.Temperature) * length),
	}
}

// NewLeak returns the seat that carries exactly the throughput q (Pa·m³/s) at
// the pressure difference at (Pa) of the given sign, with the share s (0 to 1)
// of that difference spent in the entry.
func NewLeak(q, s, at float64, sign Sign, air Air) (Leak, error) {
	if !(q >= 0) || !(s >= 0 && s <= 1) || !(at > 0) {
		return Leak{}, fmt.Errorf("make a leak of %g Pa·m³/s with inertial share %g at %g Pa: want a throughput of 0 or more, a share from 0 to 1 and a positive pressure difference", q, s, at)
	}
	if q == 0 {
		return Leak{}, nil
	}
	air = air.withDefaults()
	high, low := sign.ends(air.Ambient, at)
	behind := high - s*at
	leak := Leak{Area: math.Inf(1), Viscous: math.Inf(1)}
	if s > 0 {
		leak.Area = q / (math.Sqrt(gasConstant*air.Temperature) * high * wantzel(behind/high))
	}
	if s < 1 {
		leak.Viscous = q / (behind*behind - low*low)
	}
	return leak, nil
}

// Throughput is what flows into a bore at pressure p (Pa), in Pa·m³/s; negative
// when it flows out.
func (l Leak) Throughput(p float64, air Air) float64 {
	air = air.withDefaults()
	if p > air.Ambient {
		return -l.carry(p, air.Ambient, air.Temperature)
	}
	return l.carry(air.Ambient, p, air.Temperature)
}

// InertialShare is the part of the pressure difference at (Pa) that is spent in
// the entry: 0 purely laminar, 1 a pure orifice.
func (l Leak) InertialShare(at float64, sign Sign, air Air) float64 {
	air = air.withDefaults()
	high, low := sign.ends(air.Ambient, at)
	switch {
	case l.Area == 0 || l.Viscous == 0 || math.IsInf(l.Area, 1):
		return 0
	case math.IsInf(l.Viscous, 1):
		return 1
	}
	q := l.carry(high, low, air.Temperature)
	return (high - math.Sqrt(low*low+q/l.Viscous)) / at
}

// carry returns the throughput from high to low pressure.
func (l Leak) carry(high, low, temperature float64) float64 {
	if high <= low || l.Area == 0 || l.Viscous == 0 {
		return 0
	}
	entry := l.Area * math.Sqrt(gasConstant*temperature) * high
	switch {
	case math.IsInf(l.Area, 1):
		return l.Viscous * (high - low) * (high + low)
	case math.IsInf(l.Viscous, 1):
		return entry * wantzel(low/high)
	}
	return l.inSeries(entry, high, low)
}

// inSeries finds the flow common to entry and channel. The unknown is
// z = √(p₁ − pᵢ): in z the entry is nearly linear and the channel smooth, so
// Newton's steps, kept inside a shrinking bracket, settle at once.
func (l Leak) inSeries(entry, high, low float64) float64 {
	lo, hi := 0.0, math.Sqrt(high-low)
	excess := func(z float64) (float64, float64) {
		behind := high - z*z
		channel := l.Viscous * (behind - low) * (behind + low)
		return entry*wantzel(behind/high) - channel, channel
	}
	z := hi / 2
	for range 60 {
		f, _ := excess(z)
		if f > 0 {
			hi = z
		} else {
			lo = z
		}
		h := 1e-6 * (z + 1e-9)
		ahead, _ := excess(z + h)
		next := z - f*h/(ahead-f)
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-z) < 1e-13*hi {
			break
		}
		z = next
	}
	// The larger of two nearly equal pressures cancels in the channel's formula
	// when the entry takes nearly everything, so the flow is read at the entry.
	behind := high - z*z
	return entry * wantzel(behind/high)
}

// criticalRatio is the pressure ratio (2/(γ+1))^(γ/(γ−1)) at which the entry
// chokes, for γ = 1.4.
const criticalRatio = 0.528281787717

// wantzel is the flow function ψ(r) = √(2γ/(γ−1)·(r^(2/γ) − r^((γ+1)/γ))) of
// Saint-Venant and Wantzel, constant below the critical ratio.
func wantzel(r float64) float64 {
	r = max(r, criticalRatio)
	if r >= 1 {
		return 0
	}
	log := math.Log(r)
	return math.Sqrt(2 / poisson * math.Exp(2/gamma*log) * -math.Expm1(poisson*log))
}
