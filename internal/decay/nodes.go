package decay

// cubic interpolates between nodes: the first of four, and their weights.
type cubic struct {
	first int
	w     [4]float64
}

// interpolate finds the four nodes about time t.
func interpolate(times []float64, t float64) cubic {
	lo, hi := 0, len(times)-1
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; times[mid] <= t {
			lo = mid
		} else {
			hi = mid
		}
	}
	return cubicAt(times, lo, t)
}

// cubicAt gives Lagrange's weights on the nodes about the interval that begins at node.
func cubicAt(times []float64, node int, t float64) cubic {
	n := len(times)
	if n < 4 {
		x := (t - times[node]) / (times[node+1] - times[node])
		return cubic{node, [4]float64{1 - x, x}}
	}
	c := cubic{first: min(max(node-1, 0), n-4)}
	for i := range 4 {
		w := 1.0
		ti := times[c.first+i]
		for j := range 4 {
			if i != j {
				tj := times[c.first+j]
				w *= (t - tj) / (ti - tj)
			}
		}
		c.w[i] = w
	}
	return c
}
