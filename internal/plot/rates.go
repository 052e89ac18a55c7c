package plot

import "math"

// rates is the vertical axis of a [Trend]: linear from nought, or logarithmic where the
// values span too much for that.
type rates struct {
	span // of the axis, in what is drawn
	log  bool
}

// rates chooses the axis. Intervals do not make it logarithmic: a tight joint's reaches below 0.
func (t Trend) rates() rates {
	values, positive := nothing().with(0), nothing()
	take := func(v float64) {
		if values = values.with(v); v > 0 {
			positive = positive.with(v)
		}
	}
	for _, s := range t.Seen {
		if take(s.Value); finite(s.Value) && finite(s.Low) && finite(s.High) {
			values = values.with(s.Low, s.High)
		}
	}
	if t.limited() {
		take(1.1 * t.Limit)
	}
	if positive.empty() || positive.high <= factor*positive.low {
		return rates{span: values.usable()}
	}
	top := max(positive.high, values.high)
	return rates{span{math.Log10(positive.low / 2), math.Log10(1.2 * top)}, true}
}

// of is where a value is drawn. What a logarithm does not have lies at the foot.
func (r rates) of(v float64) float64 {
	switch {
	case !r.log || !finite(v):
		return v
	case v <= 0:
		return r.low
	}
	return max(math.Log10(v), r.low)
}

// axis is the axis with its ticks.
func (r rates) axis(unit string) Axis {
	if !r.log {
		return Axis{Name: "leakage rate", Unit: unit, Zero: true}
	}
	power := 0
	if r.high >= 5 || r.high < -2 { // as where the axis is linear
		power = 3 * int(math.Floor(r.high/3))
	}
	return Axis{Name: "leakage rate", Unit: powered(unit, power), Low: r.low, High: r.high, Ticks: r.ticks(power)}
}

// ticks are 1, 2 and 5 of each decade, or the decades alone where these are many.
func (r rates) ticks(power int) []Tick {
	digits := []float64{1, 2, 5}
	if r.high-r.low > 3.2 {
		digits = digits[:1]
	}
	var all []Tick
	for decade := int(math.Floor(r.low)); float64(decade) <= r.high; decade++ {
		for _, digit := range digits {
			at := float64(decade) + math.Log10(digit)
			if at >= r.low && at <= r.high {
				all = append(all, Tick{at, number(digit*math.Pow10(decade-power), max(0, power-decade))})
			}
		}
	}
	return all
}
