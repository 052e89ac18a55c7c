package sim

import "math"

// flow is the throughput of a group of seats as a function of Δ = ambient − bore,
// tabulated once so that a step of the simulation costs the same for one seat as
// for thirty. The abscissa is √|Δ|, in which an orifice is a straight line and a
// laminar gap a parabola; both signs have a table of their own because a gap
// carries a little more outwards than inwards.
type flow struct {
	inward, outward []float64
	perNode         float64 // √Pa between nodes
}

const flowNodes = 161

// newFlow tabulates the seats up to |Δ| = reach pascals. Beyond, the last cubic
// is carried on.
func newFlow(seats []Leak, air Air, reach float64) *flow {
	f := &flow{
		inward:  make([]float64, flowNodes),
		outward: make([]float64, flowNodes),
		perNode: math.Sqrt(reach) / (flowNodes - 1),
	}
	for i := range flowNodes {
		u := float64(i) * f.perNode
		for _, seat := range seats {
			f.inward[i] += seat.carry(air.Ambient, air.Ambient-u*u, air.Temperature)
			f.outward[i] += seat.carry(air.Ambient+u*u, air.Ambient, air.Temperature)
		}
	}
	return f
}

// at returns the throughput into the bore (Pa·m³/s) and its derivative by Δ.
func (f *flow) at(delta float64) (q, slope float64) {
	// Below this the square root has no usable derivative; 1 µPa is far below
	// anything a reading shows.
	const least = 1e-6
	table, sign := f.inward, 1.0
	if delta < 0 {
		table, sign, delta = f.outward, -1, -delta
	}
	delta = max(delta, least)
	u := math.Sqrt(delta)
	x := u / f.perNode
	i := min(max(int(x)-1, 0), flowNodes-4)
	q, slope = cubic(table[i:i+4], x-float64(i))
	return sign * q, slope / (2 * u * f.perNode)
}

// cubic evaluates the parabola of third order through y at 0, 1, 2 and 3, and its
// derivative, at x, by Newton's divided differences.
func cubic(y []float64, x float64) (value, slope float64) {
	d1 := y[1] - y[0]
	d2 := (y[2] - 2*y[1] + y[0]) / 2
	d3 := (y[3] - 3*y[2] + 3*y[1] - y[0]) / 6
	value = y[0] + x*(d1+(x-1)*(d2+(x-2)*d3))
	slope = d1 + (2*x-1)*d2 + (3*x*x-6*x+2)*d3
	return value, slope
}
