package rig

import (
	"fmt"
	"math"

	"boretight/internal/air"
)

// Conditions are [air.Conditions] as a record keeps them.
type Conditions struct {
	Sign        air.Sign `json:"sign"`
	Difference  float64  `json:"difference_pa"` // positive
	Ambient     float64  `json:"ambient_pa"`    // absolute
	Temperature float64  `json:"temperature_k"`
}

// Certificate is what is known of a reference leak: its throughput at stated conditions.
type Certificate struct {
	ID string `json:"id"`
	// Throughput in Pa·m³/s at the conditions of At.
	Throughput Measured   `json:"throughput_pa_m3_s"`
	At         Conditions `json:"at"`
	// Inertial is the share of the pressure difference that goes into inertia at these
	// conditions: 0 for a capillary long against its bore, which is laminar.
	Inertial Measured `json:"inertial_share"`
}

// scaled returns what a leak of throughput q on its certificate lets through elsewhere.
//
// A throughput q is p̄·Q, so friction takes Δp ∝ μ·q/p̄ and inertia Δp ∝ ρQ² ∝ q²/(p̄·T).
// With y, D, m and τ the ratios here over certificate of q, p̄·Δp, μ and T,
//
//	(1−s)·m·y + s·y²/τ = D,
//
// for a laminar leak (s = 0) y = (p̄/p̄c)·(Δp/Δpc)·(μc/μ). The root is written so that no
// digits are lost as s goes to 0.
func (c Certificate) scaled(q, inertial float64, here air.Conditions) float64 {
	there := air.Conditions(c.At)
	drive := here.MeanPressure() / there.MeanPressure() * here.Difference / there.Difference
	friction := (1 - inertial) * air.Viscosity(here.Temperature) / air.Viscosity(there.Temperature)
	inertia := inertial * there.Temperature / here.Temperature
	return q * 2 * drive / (friction + math.Sqrt(friction*friction+4*inertia*drive))
}

// Room is where a reference leak is used: the conditions with what is not known of them.
type Room struct {
	Sign        air.Sign
	Difference  float64  // stated test pressure difference, positive, Pa
	Ambient     Measured // absolute, of the station, Pa
	Temperature Measured // K
}

// conditions are the room's as package air knows them.
func (r Room) conditions() air.Conditions {
	return air.Conditions{Sign: r.Sign, Difference: r.Difference, Ambient: r.Ambient.Value, Temperature: r.Temperature.Value}
}

// Here returns what the leak lets through in a room, in Pa·m³/s, with its budget.
func (c Certificate) Here(room Room) (Result, error) {
	if err := c.validate(room); err != nil {
		return Result{}, err
	}
	r := propagate(func(x []float64) float64 {
		here := room.conditions()
		here.Ambient, here.Temperature = x[1], x[2]
		return c.scaled(x[0], x[3], here)
	}, []source{
		{name: "certificate of the leak", Measured: c.Throughput},
		{name: "ambient pressure", Measured: room.Ambient},
		{name: "temperature", Measured: room.Temperature},
		{name: "law of the leak", Measured: c.Inertial},
	})
	if here, there := room.Difference, c.At.Difference; here > 1.5*there || there > 1.5*here {
		r.Doubts = append(r.Doubts, fmt.Sprintf("The leak was certified at %.4g Pa and is used at %.4g Pa: only its law says what it lets through there.", there, here))
	}
	if room.Sign != c.At.Sign {
		r.Doubts = append(r.Doubts, fmt.Sprintf("The leak was certified for %s and is used for %s.", c.At.Sign, room.Sign))
	}
	return r, nil
}

// validate refuses conditions in which no air flows as the model says.
func (c Certificate) validate(room Room) error {
	const doing = "scale reference leak"
	for _, at := range []air.Conditions{air.Conditions(c.At), room.conditions()} {
		switch {
		case at.Sign != air.Suction && at.Sign != air.Pressure:
			return &Refusal{doing, "neither suction nor pressure is told", ""}
		case !(at.Difference > 0 && at.Difference < 3e4):
			return &Refusal{doing, fmt.Sprintf("a pressure difference of %.4g Pa", at.Difference), "tell it as a positive number up to 30 kPa"}
		case !(at.Ambient > 3e4 && at.Ambient < 12e4):
			return &Refusal{doing, fmt.Sprintf("a room at %.5g Pa", at.Ambient), "tell the pressure of the station"}
		case !(at.Temperature > 230 && at.Temperature < 330):
			return &Refusal{doing, fmt.Sprintf("air at %.4g K", at.Temperature), ""}
		}
	}
	if !(room.Ambient.U >= 0 && room.Ambient.U < 2e4 && room.Temperature.U >= 0 && room.Temperature.U < 30) {
		return &Refusal{doing, fmt.Sprintf("a room known to %.4g Pa and %.4g K", room.Ambient.U, room.Temperature.U), "uncertainties are not below zero and small against the value"}
	}
	if !(c.Throughput.sound() && c.Throughput.Value > 0) {
		return &Refusal{doing, fmt.Sprintf("a certified throughput of %.4g Pa·m³/s", c.Throughput.Value), "it must be above zero"}
	}
	if !(c.Inertial.sound() && c.Inertial.Value-c.Inertial.U > -0.3 && c.Inertial.Value <= 1) {
		return &Refusal{doing, fmt.Sprintf("an inertial share of %.3g ± %.3g", c.Inertial.Value, c.Inertial.U), "it lies between 0 and 1"}
	}
	return nil
}
