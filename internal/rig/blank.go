package rig

import (
	"fmt"
	"math"
	"strings"

	"boretight/internal/air"
)

const doingBlank = "take blank"

// Blank is the rig alone with its stoppers joined: what it leaks and what it holds.
type Blank struct {
	// LeakRate of the rig in Pa·m³/s at the stated conditions.
	LeakRate Result `json:"leak_rate_pa_m3_s"`
	// Volume of the rig in m³: hose, stoppers, gauge and dead volume.
	Volume Measured `json:"volume_m3"`
	Sign   air.Sign `json:"sign"`
	At     float64  `json:"at_pa"`
	Rig    Identity `json:"rig"`
}

// NewBlank makes a blank of the isothermal pressure rate of the rig alone at a stated
// pressure difference, and of its volume.
func NewBlank(id Identity, sign air.Sign, at float64, mean Rate, volume Measured) (Blank, error) {
	rate := mean.Measured()
	switch {
	case !mean.sound() || !volume.sound() || !(at > 0 && at < 3e4):
		return Blank{}, &Refusal{doingBlank, "a figure is not a number or cannot be", "pressure differences are positive, up to 30 kPa; uncertainties are not below zero"}
	case sign != air.Suction && sign != air.Pressure:
		return Blank{}, &Refusal{doingBlank, "neither suction nor pressure is told", ""}
	case volume.Value <= volume.U:
		return Blank{}, &Refusal{doingBlank, fmt.Sprintf("the rig's volume is %.3g ± %.2g ml", volume.Value*1e6, volume.U*1e6), "measure it by a syringe step with the stoppers joined"}
	case rate.Value < -5*rate.U && rate.Value < 0:
		return Blank{}, &Refusal{doingBlank,
			fmt.Sprintf("the pressure difference grew by %.3g Pa/s where it can only fall", -rate.Value),
			"let the rig come to the room's warmth, keep hands and lamps off the hose, and take it again"}
	}
	q := propagate(func(x []float64) float64 { return x[0] * x[1] * x[2] }, []source{
		{name: "pressure rate of the blank", Measured: rate, dof: mean.dof()},
		{name: sourceSpan, Measured: Measured{1, mean.Span}},
		{name: "volume of the rig", Measured: volume},
	})
	if q.Value > mostBlank {
		return Blank{}, &Refusal{doingBlank, fmt.Sprintf("the rig alone leaks %.2g sccm, as much as a joint that is not tight", q.Value/sccmAtRoom), askBlank}
	}
	return Blank{LeakRate: q, Volume: volume, Sign: sign, At: at, Rig: id}, nil
}

const (
	// sccmAtRoom is 1 sccm of a gas at 20 °C, in Pa·m³/s; near enough for a room.
	sccmAtRoom = 101325e-6 / 60 * 293.15 / 273.15
	// A rig leaks far less than a joint. Common practice, no source.
	usualBlank, mostBlank = 0.1 * sccmAtRoom, 1 * sccmAtRoom
	askBlank              = "are the stoppers joined and pressed home? find what leaks and take it again: this is subtracted from every joint"
)

// DoubtBlank questions the leakage rate of a rig alone in Pa·m³/s; empty where it may be.
func DoubtBlank(rate float64) string {
	if !(rate > usualBlank) {
		return ""
	}
	return fmt.Sprintf("The rig alone leaks %.2g sccm, which is much: %s.", rate/sccmAtRoom, askBlank)
}

// Background returns what to subtract from a joint's leakage rate in Pa·m³/s at a
// stated pressure difference, with the uncertainty of [Result.Standard]. Elsewhere than at its own, a blank is scaled as a laminar
// leak, with a third of the change (that between exponents 1 and ⅔) as one more doubt.
func (b Blank) Background(sign air.Sign, at float64) (Measured, error) {
	if sign != b.Sign {
		return Measured{}, &Refusal{"subtract blank", fmt.Sprintf("the blank was taken in %s, the hold in %s", b.Sign, sign), "take a blank with the same sign"}
	}
	if !(at > 0) {
		return Measured{}, &Refusal{"subtract blank", fmt.Sprintf("a stated pressure difference of %.4g Pa", at), ""}
	}
	ratio := at / b.At
	law := b.LeakRate.Value * (ratio - math.Pow(ratio, 2.0/3))
	return Measured{b.LeakRate.Value * ratio, math.Hypot(b.LeakRate.Standard().U*ratio, law)}, nil
}

// Doubts says what a blank does to the result of a hold: total is the leakage rate in
// Pa·m³/s of joint and rig together, now the rig that measured it. Nothing to say is nil.
func (b Blank) Doubts(total Measured, now Identity) []string {
	var doubts []string
	if parts := now.Changed(b.Rig); len(parts) > 0 {
		doubts = append(doubts, fmt.Sprintf("The rig was changed since its blank (%s): take a new blank.", strings.Join(parts, ", ")))
	}
	own, joint := b.LeakRate.Value, total.Value-b.LeakRate.Value
	u := math.Hypot(b.LeakRate.U, total.U)
	switch {
	case joint < -2*u:
		doubts = append(doubts, "The blank leaks more than rig and joint together: the rig was worse at its blank, or is not sealed the same way now.")
	case own > joint && own > 2*b.LeakRate.U:
		doubts = append(doubts, "The rig leaks more than the joint: the result is a small difference of two large leaks. Mend the rig first.")
	case own > 0.25*joint && own > 2*b.LeakRate.U:
		doubts = append(doubts, fmt.Sprintf("The rig's own leak is %.0f %% of the joint's.", 100*own/joint))
	}
	return doubts
}
