package cadence

const (
	// blockSeconds is the stretch of which the earliest arrival is kept, and blocks is
	// how many stretches the envelope is drawn over: 8 s, in which a clock that is
	// 200 ppm off runs 1.6 ms apart and drifts of its rate do not show.
	blockSeconds = 0.25
	blocks       = 32
	// slopeSeconds is the span from which on the envelope tells the period better than
	// what was learned at the start.
	slopeSeconds = 2.0
	// slewSeconds is the time over which the grid moves to a new envelope, and
	// slewMost the most by which that changes the period meanwhile, as a share.
	slewSeconds = 1.0
	slewMost    = 0.02
)

// envelope is the line below the earliest arrivals.
type envelope struct {
	period float64 // the present estimate, s
	points [blocks]point
	count  int
	best   point // earliest of the present block
	lag    float64
	filled bool
	began  float64 // of the present block
	hull   [blocks]point
}

func (e *envelope) reset(period float64) {
	*e = envelope{period: period}
}

// add takes a line with its delay against the present grid, and reports whether a block
// has ended.
func (e *envelope) add(p point, lag float64) bool {
	if !e.filled {
		e.best, e.lag, e.filled, e.began = p, lag, true, p.t
	}
	if lag < e.lag {
		e.best, e.lag = p, lag
	}
	if p.t-e.began < blockSeconds {
		return false
	}
	if e.count == blocks {
		copy(e.points[:], e.points[1:])
		e.count--
	}
	e.points[e.count] = e.best
	e.count++
	e.filled = false
	return true
}

// forget drops what came since a time: it was counted wrongly.
func (e *envelope) forget(since float64) {
	e.filled = false
	for e.count > 0 && e.points[e.count-1].t >= since {
		e.count--
	}
}

// steer returns the grid from line n on, which leaves the present one without a step and
// meets the envelope after some time.
func (e *envelope) steer(now line, n int64) line {
	at := now.at(n)
	if e.count == 0 {
		return line{n, at, e.period}
	}
	aim := e.fit()
	e.period = aim.period
	change := (aim.at(n) - at) / slewSeconds
	change = max(-slewMost, min(slewMost, change))
	return line{n, at, e.period * (1 + change)}
}

// fit returns the line that lies below all points and closest to them: the edge of their
// lower convex hull above the middle of their numbers. While they span little, it keeps
// the period.
func (e *envelope) fit() line {
	points := e.points[:e.count]
	if points[len(points)-1].t-points[0].t < slopeSeconds {
		return lowest(points, e.period)
	}
	hull := e.hull[:0]
	mean := 0.0
	for i, p := range points {
		mean += (float64(p.n) - mean) / float64(i+1)
		for len(hull) > 1 && !leftTurn(hull[len(hull)-2], hull[len(hull)-1], p) {
			hull = hull[:len(hull)-1]
		}
		if len(hull) > 0 && p.n <= hull[len(hull)-1].n {
			continue // a count that was set back
		}
		hull = append(hull, p)
	}
	for i := 1; i < len(hull); i++ {
		if a, b := hull[i-1], hull[i]; float64(b.n) >= mean {
			return line{b.n, b.t, (b.t - a.t) / float64(b.n-a.n)}
		}
	}
	return lowest(points, e.period)
}

// lowest returns the line of the given period below all points.
func lowest(points []point, period float64) line {
	below := line{points[0].n, points[0].t, period}
	for _, p := range points[1:] {
		if p.t < below.at(p.n) {
			below = line{p.n, p.t, period}
		}
	}
	return below
}

// leftTurn reports whether the way from a over b to c turns up.
func leftTurn(a, b, c point) bool {
	return (b.t-a.t)*float64(c.n-b.n) < (c.t-b.t)*float64(b.n-a.n)
}
