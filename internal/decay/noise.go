package decay

import "math"

// noise is what the readings scatter by, once the curve is taken off.
type noise struct {
	sigma float64 // standard deviation of one reading, Pa
	white float64 // share of its variance that is gone at the next reading
	rho   float64 // what is left of the rest from one reading to the next
	dof   float64 // degrees of freedom that the estimate rests on
}

// restNoise is what the rest before the draw tells of it: white, for all that is known
// yet, and no less than the sensor's steps make.
func (d *data) restNoise() noise {
	return noise{sigma: math.Hypot(d.span*d.hold.Noise, d.quantum/math.Sqrt(12)), white: 1, dof: math.Inf(1)}
}

// variance returns that of the mean of n neighbouring readings, in Pa².
func (o noise) variance(n float64) float64 {
	v := o.sigma * o.sigma
	if o.rho <= 0 {
		return v / n
	}
	// Mean of n terms of an AR(1) series: (1+ρ)/(1−ρ) less what the ends lack.
	r := o.rho
	ar := ((1+r)/(1-r) - 2*r*(1-math.Pow(r, n))/(n*(1-r)*(1-r))) / n
	return v * (o.white/n + (1-o.white)*ar)
}

// inflation is how much more the mean of many readings scatters than if they
// were independent: (1+ρ)/(1−ρ) for the part that is remembered.
func (o noise) inflation() float64 {
	return o.white + (1-o.white)*(1+o.rho)/(1-o.rho)
}

// absorbed is how many parameters the residuals have been bent by.
const absorbed = 6

// scatter estimates the noise from residuals in order of time: the variance, and
// an AR(1) part from the first lags. Residuals of a fit remember less than the
// noise did, by about absorbed/n at each lag, which is given back.
func scatter(e []float64, floor float64) noise {
	n := len(e)
	o := noise{white: 1, dof: math.Max(float64(n-absorbed), 1)}
	var mean float64
	for _, v := range e {
		mean += v
	}
	mean /= float64(n)
	lag := func(k int) float64 {
		var s float64
		for i := k; i < n; i++ {
			s += (e[i] - mean) * (e[i-k] - mean)
		}
		return s / float64(n)
	}
	c0 := lag(0)
	o.sigma = math.Max(math.Sqrt(c0*float64(n)/o.dof), floor)
	if n < 30 || c0 == 0 {
		return o
	}
	const lags = 12
	var c [lags + 1]float64
	for k := 1; k <= lags; k++ {
		c[k] = lag(k)/c0 + float64(absorbed)/float64(n)*0.5
	}
	if c[1] < 2/math.Sqrt(float64(n)) {
		return o
	}
	// Least squares of A·ρ^k on the first lags over a grid of ρ: a correlated part
	// under white noise shows as a geometric row that does not start at 1.
	best := math.Inf(1)
	for _, rho := range [...]float64{0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.93, 0.95, 0.97, 0.98, 0.985, 0.99} {
		var num, den float64
		for k := 1; k <= lags; k++ {
			w := math.Pow(rho, float64(k))
			num += w * c[k]
			den += w * w
		}
		a := math.Min(math.Max(num/den, 0), 1)
		var sse float64
		for k := 1; k <= lags; k++ {
			d := c[k] - a*math.Pow(rho, float64(k))
			sse += d * d
		}
		if sse < best {
			best, o.rho, o.white = sse, rho, 1-a
		}
	}
	o.dof = math.Max(o.dof/o.inflation(), 1)
	return o
}
