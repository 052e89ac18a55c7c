package guided

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"boretight/internal/air"
	"boretight/internal/decay"
	"boretight/internal/hold"
	"boretight/internal/quantity"
	"boretight/internal/rig"
	"boretight/internal/trace"
)

// rated is a hold that counts.
type rated struct {
	ids         []string
	rate        rig.Rate
	temperature float64 // of the gas, as the fit took it, K
}

// series rates holds of one sign.
type series struct {
	told Told
	sign air.Sign // of the first hold that counted; 0 before it
}

// rate fits a hold; a refusal says why it does not count.
func (s *series) rate(id string, h *hold.Hold) (rated, Reply) {
	if why := s.unfit(h); why != "" {
		return rated{}, refused("this hold does not count: %s", why)
	}
	s.meet(h)
	res := decay.Fit(h, s.told.Fit())
	switch {
	case res.PressureRate == nil:
		return rated{}, refused("this hold does not count: %s", strings.Join(res.Notes, " "))
	case res.Disturbed:
		return rated{}, refused("this hold does not count, it was disturbed: %s", res.Notes[0])
	}
	if why := cmp.Or(far(res), s.short(h)); why != "" {
		return rated{}, refused("this hold does not count: %s", why)
	}
	s.sign = signOf(h)
	return rated{ids: []string{id}, rate: rateOf(res), temperature: res.Temperature}, Reply{}
}

// signOf returns the sign of a hold as the rig knows it.
func signOf(h *hold.Hold) air.Sign { return air.Sign(h.Sign) }

// unfit says what stands against a hold before it is fitted.
func (s *series) unfit(h *hold.Hold) string {
	switch {
	case !h.Isolated():
		return "the valve was never shut for long enough; draw, shut it, and keep still for 8 s or more"
	case s.sign != 0 && signOf(h) != s.sign:
		return fmt.Sprintf("it was in %s, the first one in %s; the two are never mixed", h.Sign, s.sign)
	}
	return ""
}

// meet learns the room's pressure from an absolute gauge at rest.
func (s *series) meet(h *hold.Hold) {
	if h.Kind == trace.Absolute && s.told.Ambient.Value == 0 {
		s.told.Ambient = rig.Measured{Value: h.RestLevel, U: decay.AbsoluteRestU}
	}
}

// far says that a hold was nowhere near the stated difference, so that only the law of
// the leak would say what it leaks there.
func far(res decay.Result) string {
	const most = 1.6
	switch {
	case res.DeltaStart*most < res.At:
		return fmt.Sprintf("it began at %.3g kPa, far below the %.3g kPa that rates are stated at; draw more, or tell --at", res.DeltaStart/1e3, res.At/1e3)
	case res.DeltaEnd > most*res.At:
		return fmt.Sprintf("it ended at %.3g kPa, far above the %.3g kPa that rates are stated at; draw less, or tell --at", res.DeltaEnd/1e3, res.At/1e3)
	}
	return ""
}

// A hold must outlast the heat's slowest time constant this many times; a person is asked
// for some more. Simulated bottles of 40 to 160 ml read low by up to 9 % after a third of
// that, by 3 % after three quarters, and right from there on.
const outlast, askFor = 12, 15

// heatTime is the slowest time constant of the heat in the bore told, in s.
func (s *series) heatTime() float64 { return s.told.settle(s.told.Bore) / 5 }

// short says that a hold was too short for the heat in its bore.
func (s *series) short(h *hold.Hold) string {
	if least := outlast * s.heatTime(); h.Duration().Seconds() < least {
		return fmt.Sprintf("it lasted %.0f s, and in a bore as wide as this one the heat needs %.0f s; keep still for %.0f s", h.Duration().Seconds(), least, s.still())
	}
	return ""
}

// still is for how long a person is asked to keep still, in s.
func (s *series) still() float64 {
	const usual, step = 10, 5
	return max(usual, step*math.Ceil(askFor*s.heatTime()/step))
}

// rateOf parts the doubt of a fit by what becomes of it when holds are averaged.
func rateOf(res decay.Result) rig.Rate {
	var own, shared, span float64
	for _, c := range res.Budget {
		switch c.Source {
		case "noise", "zero", "knock":
			own += c.U * c.U
		case "span":
			span += c.U
		default:
			shared += c.U * c.U
		}
	}
	rate := rig.Rate{Value: res.PressureRate.Value, Own: math.Sqrt(own), Shared: math.Sqrt(shared)}
	if rate.Value != 0 {
		rate.Span = min(span/math.Abs(rate.Value), 0.5)
	}
	return rate
}

// count numbers things for people: "hold 2 of 3".
func count(what string, n, of int) string {
	if of <= 1 {
		return what
	}
	return fmt.Sprintf("%s %d of %d", what, n, of)
}

// say prints a value with its expanded uncertainty (k = 2), both in SI, in a unit that is
// scale SI units.
func say(m rig.Measured, scale float64, unit string) string {
	v, u := quantity.Rounded(m.Value/scale, 2*m.U/scale)
	return fmt.Sprintf("%s ± %s %s", v, u, unit)
}

// sayRate prints the rate of a hold.
func (s *series) sayRate(r rig.Rate) string {
	return fmt.Sprintf("%s at %.4g kPa %s", say(r.Measured(), 1, "Pa/s"), s.told.at()/1e3, s.sign)
}
