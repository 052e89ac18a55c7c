package trial

import (
	"math"

	"boretight/internal/decay"
)

// sccm restates a throughput as its holds did, with their doubt about the temperature.
// Each side of the interval is widened for itself, so that one that leans still does.
func sccm(used []Outcome, q decay.Estimate) *decay.Estimate {
	per, doubt := perSCCM(used)
	if per == 0 {
		return nil
	}
	value := q.Value * per
	side := func(far float64) float64 {
		if q.U == 0 {
			return far * per
		}
		return math.Hypot(far*per, far/q.U*value*doubt)
	}
	return &decay.Estimate{
		Value: value, U: math.Hypot(q.U*per, value*doubt),
		Low: value - side(q.Value-q.Low), High: value + side(q.High-q.Value),
	}
}

// perSCCM is how many sccm one Pa·m³/s is, and the relative standard uncertainty of
// that, which is the temperature's; 0 when no hold tells. The hold that leaks most
// shows the doubt best: one that leaks nothing does not show it at all.
func perSCCM(used []Outcome) (per, doubt float64) {
	most := 0.0
	for _, o := range used {
		if o.SCCM == nil || o.LeakRate == nil {
			continue
		}
		switch value := math.Abs(o.LeakRate.Value); {
		case value > most:
			most, per = value, o.SCCM.Value/o.LeakRate.Value
			a, b := o.SCCM.U/o.SCCM.Value, o.LeakRate.U/o.LeakRate.Value
			doubt = math.Sqrt(max(a*a-b*b, 0))
		case per == 0 && o.Temperature > 0:
			per = decay.SCCM(1, o.Temperature)
		case per == 0 && o.LeakRate.U > 0:
			per = o.SCCM.U / o.LeakRate.U // at no leak the temperature adds nothing to it
		}
	}
	return per, doubt
}

// limitSCCM is a limit as a hold's gas counts it; 0 when its temperature is not known.
func limitSCCM(limit Limit, o Outcome) float64 {
	if o.Temperature > 0 {
		return rounded(decay.SCCM(float64(limit), o.Temperature))
	}
	if o.Decision != nil && o.Decision.Limit > 0 {
		return rounded(float64(limit) / o.Decision.Limit * o.Decision.LimitSCCM)
	}
	per, _ := perSCCM([]Outcome{o})
	return rounded(float64(limit) * per)
}
