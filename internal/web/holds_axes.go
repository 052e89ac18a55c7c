package web

import (
	"strings"

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
	return strings.TrimSpace(m.Value + " ± " + m.U + " " + name)
}

func volumeWithU(m3, stdU float64) string { return statedIn(m3, stdU, 1e-6, "ml") }

func percentWithU(share, stdU float64) string { return statedIn(share, stdU, 1e-2, "%") }

func (u shown) lengthWithU(m, stdU float64) string {
	unit := u.units.Length
	return statedIn(m, stdU, float64(unit.Unit().Times(1)), unit.Symbol())
}

func (u shown) ambientWithU(pa, stdU float64) string {
	unit := u.pressureUnit()
	return statedIn(pa, stdU, unit.SI, unit.Name)
}

// throughputWithU states a rig's own leak, or a reference leak. Where its unit takes the
// temperature of the gas, that is 20 °C and said.
func (u shown) throughputWithU(q, stdU, ambient float64) string {
	factor, unit := u.flowFactor(ambient), u.flowSymbol()
	if factor == 0 {
		factor, unit = quantity.Throughput(1).SCCM(limitRoom), unit+" at 20 °C"
	}
	return statedIn(q, stdU, 1/factor, unit)
}

func celsiusWithU(kelvin, stdU float64) string {
	return statedIn(quantity.Temperature(kelvin).Celsius(), stdU, 1, "°C")
}
