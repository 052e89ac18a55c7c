package web

import (
	"boretight/internal/plot"
	"boretight/internal/quantity"
	"boretight/internal/trial"
)

// pressureUnit is the shop's unit of pressure, for an axis.
func (u shown) pressureUnit() plot.Unit {
	unit := u.units.Pressure
	return plot.Unit{Name: unit.Symbol(), SI: float64(unit.Unit().Times(1))}
}

// rateLimit is the limit of a decision as a number in the shop's unit; 0 without one.
func (u shown) rateLimit(d *trial.Decision, ambient float64) float64 {
	if d == nil {
		return 0
	}
	if factor := u.flowFactor(ambient); factor > 0 {
		return d.Limit * factor
	}
	return d.LimitSCCM
}

// The following write a value with U (k = 2) and its unit.

func statedIn(value, stdU, one float64, name string) string {
	m := written(value/one, expanded(stdU/one))
	return m.Value + " ± " + m.U + " " + name
}

func (u shown) volumeWithU(m3, stdU float64) string { return statedIn(m3, stdU, 1e-6, "ml") }
func (u shown) lengthWithU(m, stdU float64) string {
	unit := u.units.Length
	return statedIn(m, stdU, float64(unit.Unit().Times(1)), unit.Symbol())
}

func (u shown) ambientWithU(pa, stdU float64) string {
	unit := u.pressureUnit()
	return statedIn(pa, stdU, unit.SI, unit.Name)
}

// throughputWithU states a rig's own leak for gas at 20 °C.
func (u shown) throughputWithU(q, stdU, ambient float64) string {
	factor := u.flowFactor(ambient)
	if factor == 0 {
		factor = quantity.Throughput(1).SCCM(quantity.FromCelsius(20))
	}
	return statedIn(q, stdU, 1/factor, u.flowSymbol())
}

func celsiusWithU(kelvin, stdU float64) string {
	return statedIn(quantity.Temperature(kelvin).Celsius(), stdU, 1, "°C")
}
