package bench

import (
	"boretight/internal/decay"
	"boretight/internal/hold"
	"boretight/internal/quantity"
	"boretight/internal/trial"
)

// LimitOf returns a limit as the throughput that a hold is judged by, 0 for none. A
// limit in sccm counts gas at the temperature of the joint, which like for the fit
// is what was told, else what the gauge says, else a usual room's.
func LimitOf(rate quantity.LeakRate, s decay.Setup, h *hold.Hold) trial.Limit {
	return trial.Limit(rate.At(temperature(s, h)))
}

func temperature(s decay.Setup, h *hold.Hold) quantity.Temperature {
	if s.Temperature.Told() {
		return quantity.Temperature(s.Temperature.Value)
	}
	var sum, n float64
	for _, r := range h.Readings[h.Held.From:h.Held.To] {
		if r.HasTemperature() {
			sum += r.Celsius
			n++
		}
	}
	if n == 0 {
		return quantity.FromCelsius(20)
	}
	return quantity.FromCelsius(sum / n)
}
