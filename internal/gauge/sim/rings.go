package sim

import "math"

// rings cuts the cross-section of a round bore of radius 1 into coaxial rings,
// thin at the wall, where the temperature changes most, and thick on the axis.
// The tables are dimensionless and shared by every bore with as many rings.
type rings struct {
	share []float64 // of the cross-section, sums to 1
	// pass[i] is the heat that crosses from ring i to ring i+1, or to the wall
	// for the last, per difference of temperature and unit of αt/a².
	pass []float64
}

// newRings lays n rings with faces at r = 1 − (1 − i/n)².
func newRings(n int) *rings {
	at := func(x float64) float64 { return 1 - (1-x)*(1-x) }
	r := &rings{share: make([]float64, n), pass: make([]float64, n)}
	for i := range n {
		inner, outer := at(float64(i)/float64(n)), at(float64(i+1)/float64(n))
		middle := at((float64(i) + 0.5) / float64(n))
		next := 1.0
		if i < n-1 {
			next = at((float64(i) + 1.5) / float64(n))
		}
		r.share[i] = outer*outer - inner*inner
		r.pass[i] = 2 * outer / (next - middle)
	}
	return r
}

// column is the gas in one stretch of bore of one radius. Its state is the
// potential temperature Θ = T·(p₀/p)^((γ−1)/γ) of each ring: compression alone
// leaves Θ as it is, so that Θ obeys plain conduction,
//
//	∂Θ/∂t = α∇²Θ,   Θ = T_wall·(p₀/p)^((γ−1)/γ) at the wall,
//
// and the whole coupling of pressure and heat sits in the boundary value.
type column struct {
	rings  *rings
	radius float64   // m
	volume []float64 // m³ of each ring

	theta  []float64 // K, at the start of the step
	middle []float64 // K, at the step's inner stage
	free   []float64 // K, solution of a stage were the wall's Θ zero
	answer []float64 // what a wall with Θ of 1 K adds to it

	// Factors of the tridiagonal matrix for the present weight.
	weight         float64 // α·dt/a² of a stage
	below, inverse []float64
	above          []float64
}

func newColumn(seg Segment, r *rings, temperature float64) *column {
	n := len(r.share)
	c := &column{rings: r, radius: seg.Radius}
	for _, s := range []*[]float64{&c.volume, &c.theta, &c.middle, &c.free, &c.answer, &c.below, &c.inverse, &c.above} {
		*s = make([]float64, n)
	}
	for i := range n {
		c.volume[i] = seg.Volume * r.share[i]
		c.theta[i] = temperature
	}
	return c
}

// weigh prepares the matrix I − w∇² for the stage weight w = α·dt/a². A weight
// within one part in ten thousand of the last is taken as equal: diffusivity
// follows the pressure so closely that nearly every step would refactor.
func (c *column) weigh(w float64) {
	if math.Abs(w-c.weight) <= 1e-4*c.weight {
		return
	}
	c.weight = w
	n := len(c.theta)
	var fromBelow float64
	for i := range n {
		pass := w * c.rings.pass[i]
		diagonal := c.rings.share[i] + pass + fromBelow
		if i > 0 {
			diagonal -= fromBelow * c.below[i-1]
		}
		c.inverse[i] = 1 / diagonal
		c.above[i] = fromBelow / diagonal // couples ring i to ring i-1
		c.below[i] = pass / diagonal      // couples ring i to ring i+1
		fromBelow = pass
	}
	for i := range c.answer {
		c.answer[i] = 0
	}
	c.answer[n-1] = c.below[n-1]
	for i := n - 2; i >= 0; i-- {
		c.answer[i] = c.below[i] * c.answer[i+1]
	}
}

// trapezoid fills free with the first stage, from theta with its wall's Θ.
func (c *column) trapezoid(wall float64) {
	n := len(c.theta)
	theta, pass, share, free := c.theta[:n], c.rings.pass[:n], c.rings.share[:n], c.free[:n]
	above, inverse := c.above[:n], c.inverse[:n]
	var inflow, before float64
	for i := range n {
		next := wall
		if i < n-1 {
			next = theta[i+1]
		}
		outflow := c.weight * pass[i] * (theta[i] - next)
		before = (share[i]*theta[i]+inflow-outflow)*inverse[i] + above[i]*before
		free[i] = before
		inflow = outflow
	}
	c.substitute()
}

// backward fills free with the second stage, from theta and middle.
func (c *column) backward() {
	n := len(c.theta)
	theta, middle, share, free := c.theta[:n], c.middle[:n], c.rings.share[:n], c.free[:n]
	above, inverse := c.above[:n], c.inverse[:n]
	var before float64
	for i := range n {
		before = share[i]*(bdfMiddle*middle[i]-bdfStart*theta[i])*inverse[i] + above[i]*before
		free[i] = before
	}
	c.substitute()
}

// substitute is the way back from the wall to the axis.
func (c *column) substitute() {
	free, below := c.free, c.below[:len(c.free)]
	after := free[len(free)-1]
	for i := len(free) - 2; i >= 0; i-- {
		after = free[i] + below[i]*after
		free[i] = after
	}
}

// settle writes the stage's Θ for the wall value found into dst.
func (c *column) settle(dst []float64, wall float64) {
	for i := range dst {
		dst[i] = c.free[i] + c.answer[i]*wall
	}
}

// amount returns Σ V/T over the rings, and its logarithmic derivative by π times
// itself, for temperatures T = free·π + answer·wall, where wall is the wall's
// true temperature and π = (p/p₀)^((γ−1)/γ).
func (c *column) amount(pi, wall float64) (sum, slope float64) {
	n := len(c.free)
	free, answer, volume := c.free[:n], c.answer[:n], c.volume[:n]
	for i := range n {
		adiabatic := free[i] * pi
		inverse := 1 / (adiabatic + answer[i]*wall)
		v := volume[i] * inverse
		sum += v
		slope -= v * adiabatic * inverse
	}
	return sum, slope
}
