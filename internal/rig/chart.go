package rig

import "math"

// Chart is an exponentially weighted moving average control chart: it adds up small
// shifts that single checks hide (NIST/SEMATECH e-Handbook of Statistical Methods,
// 6.3.2.4).
//
//	z_i = Lambda·x_i + (1 − Lambda)·z_{i−1},  z_0 = Target
//	limits at i: Target ± Width·√(Sigma²·Lambda/(2−Lambda)·(1 − (1−Lambda)^{2i}) + Common²·(1 − (1−Lambda)^i)²)
//
// The second term is not in the textbooks: an average takes nothing from what all values
// are off by together. Common is 0 where the target was found from such values.
type Chart struct {
	Lambda float64 `json:"lambda"` // weight of the newest, above 0, up to 1
	Target float64 `json:"target"`
	Sigma  float64 `json:"sigma"` // standard deviation of one value among its like
	// Common is the standard uncertainty with which all values may be off together.
	Common float64 `json:"common,omitempty"`
	Width  float64 `json:"width"` // of the limits in standard deviations of z
}

// Spot is one point of a chart.
type Spot struct {
	Value   float64 `json:"value"`
	Average float64 `json:"average"` // z
	Low     float64 `json:"low"`     // limits of z
	High    float64 `json:"high"`
	Out     bool    `json:"out"`
}

// Limits returns those of a long chart. A young one has narrower limits; see [Chart.Run].
func (c Chart) Limits() (low, high float64) {
	half := c.half(0)
	return c.Target - half, c.Target + half
}

// half is the half-width of the limits when left is what the average still owes to its
// beginning.
func (c Chart) half(left float64) float64 {
	own := c.Sigma * math.Sqrt(c.Lambda/(2-c.Lambda)*(1-left*left))
	return c.Width * math.Hypot(own, c.Common*(1-left))
}

// Run returns the chart of values in their order, with limits exact for each.
func (c Chart) Run(values []float64) []Spot {
	z, left := c.Target, 1.0
	spots := make([]Spot, len(values))
	for i, x := range values {
		z = c.Lambda*x + (1-c.Lambda)*z
		left *= 1 - c.Lambda
		half := c.half(left)
		s := Spot{Value: x, Average: z, Low: c.Target - half, High: c.Target + half}
		s.Out = z < s.Low || z > s.High
		spots[i] = s
	}
	return spots
}
