package hold

import (
	"math"

	"boretight/internal/trace"
)

// point is one value of a thinned stretch: seconds, and Pa in the sense of Δp.
type point struct{ t, y float64 }

// cornerPitch is the pitch to which fast gauges are thinned before corners are
// looked for: a fifth of what isolation has to be found to.
const cornerPitch = 0.01

// thin returns the stretch rs as Δp against level, averaged to cornerPitch.
func thin(rs []trace.Reading, sign Sign, level float64) []point {
	var out []point
	var n, st, sy, start float64
	flush := func() {
		if n > 0 {
			out = append(out, point{st / n, sy / n})
		}
		n, st, sy = 0, 0, 0
	}
	for _, r := range rs {
		if !usable(r) {
			continue
		}
		t := r.Seconds()
		if n > 0 && t-start >= cornerPitch*0.999 {
			flush()
		}
		if n == 0 {
			start = t
		}
		n++
		st += t
		sy += sign.Float() * (r.Pressure - level)
	}
	flush()
	return out
}

// corner is a place where a curve bends down: its time, and how many standard
// deviations the change of slope is away from none.
type corner struct{ t, z float64 }

// sums are running sums of a stretch of points about a fixed time, so that a
// line through any part of it costs a few subtractions.
type sums struct{ n, t, tt, y, ty float64 }

func (s sums) minus(o sums) sums {
	return sums{s.n - o.n, s.t - o.t, s.tt - o.tt, s.y - o.y, s.ty - o.ty}
}

// about shifts the sums to be taken about time c.
func (s sums) about(c float64) sums {
	return sums{s.n, s.t - c*s.n, s.tt - 2*c*s.t + c*c*s.n, s.y, s.ty - c*s.y}
}

// lastCorner finds the last downward bend between the times from and to. Isolation
// is one, because the flow out of the bore stops there; nothing that follows in an
// undisturbed hold is, because heat and leak both fade.
//
// Two straight lines that meet are fitted left and right of every candidate; the
// arms start short, so that curved draws do not bend them, and grow until the bend
// stands clear of the noise sigma (Pa, of one point). Longer arms then look for a
// fainter bend later on: a pump that held its level until the valve was shut.
func lastCorner(pts []point, from, to, sigma float64) (corner, bool) {
	if len(pts) < 6 {
		return corner{}, false
	}
	pitch := (pts[len(pts)-1].t - pts[0].t) / float64(len(pts)-1)
	var best corner
	for _, arm := range arms {
		if best.z > clear {
			break
		}
		all := bends(pts, from, to, max(arm, 3.5*pitch), sigma)
		strongest := 0.0
		for _, c := range all {
			strongest = max(strongest, c.z)
		}
		if c, ok := lastPeak(all, min(strongest, max(faint, 0.1*strongest))); ok && c.z > best.z {
			best = c
		}
	}
	for _, arm := range arms {
		arm = max(arm, 3.5*pitch)
		if c, ok := lastPeak(bends(pts, best.t+arm, to, arm, sigma), faint); ok && best.z > least {
			best = c
		}
	}
	return best, best.z > least
}

// arms are the lengths in s of the lines that meet at a bend, shortest first.
var arms = [...]float64{0.06, 0.12, 0.25, 0.5}

// Bends in standard deviations: one that is none, one that may be looked for beside
// a stronger one, and one that needs no longer arms.
const least, faint, clear = 4, 14, 25

// lastPeak returns the last local maximum of at least z.
func lastPeak(all []corner, z float64) (last corner, ok bool) {
	for i, c := range all {
		peak := (i == 0 || all[i-1].z <= c.z) && (i == len(all)-1 || all[i+1].z < c.z)
		if peak && c.z >= z && c.z > 0 {
			last, ok = c, true
		}
	}
	return last, ok
}

// bends returns the change of slope at every candidate between from and to.
func bends(pts []point, from, to, arm, sigma float64) []corner {
	origin := pts[0].t
	run := make([]sums, len(pts)+1)
	for i, p := range pts {
		t := p.t - origin
		s := run[i]
		run[i+1] = sums{s.n + 1, s.t + t, s.tt + t*t, s.y + p.y, s.ty + t*p.y}
	}
	var out []corner
	lo, hi := 0, 0
	for i := 0; i+1 < len(pts); i++ {
		for _, c := range [2]float64{pts[i].t, (pts[i].t + pts[i+1].t) / 2} {
			if c < from || c > to {
				continue
			}
			for lo < len(pts) && pts[lo].t < c-arm {
				lo++
			}
			for hi < len(pts) && pts[hi].t <= c+arm {
				hi++
			}
			l := run[i+1].minus(run[lo]).about(c - origin)
			r := run[hi].minus(run[i+1]).about(c - origin)
			if l.n < 3 || r.n < 3 {
				continue
			}
			if from, to := pts[i].t, pts[i+1].t; c > from && to-from > wideGap {
				met := min(max(c+meet(l, r), from), to)
				l, r, c = l.about(met-c), r.about(met-c), met
			}
			if z, ok := hinge(l, r, sigma); ok {
				out = append(out, corner{c, z})
			}
		}
	}
	return out
}

// wideGap is how long in s readings must be missing for a bend to be looked for within.
const wideGap = 0.05

// meet returns where a line through the points of l and one through those of r meet, 0
// where they hardly do.
func meet(l, r sums) float64 {
	slope := func(s sums) float64 { return (s.ty - s.t*s.y/s.n) / (s.tt - s.t*s.t/s.n) }
	a, b := slope(l), slope(r)
	t := (r.y/r.n - b*r.t/r.n - l.y/l.n + a*l.t/l.n) / (a - b)
	if math.IsNaN(t) || math.IsInf(t, 0) {
		return 0
	}
	return t
}

// hinge fits y = a + b·min(t,0) + c·max(t,0) and returns (b-c)/u(b-c).
func hinge(l, r sums, sigma float64) (z float64, ok bool) {
	// Normal equations with the constant eliminated: the slopes' 2×2 system.
	n := l.n + r.n
	a11 := l.tt - l.t*l.t/n
	a22 := r.tt - r.t*r.t/n
	a12 := -l.t * r.t / n
	y := (l.y + r.y) / n
	b1 := l.ty - l.t*y
	b2 := r.ty - r.t*y
	det := a11*a22 - a12*a12
	if !(det > 0) {
		return 0, false
	}
	left := (b1*a22 - b2*a12) / det
	right := (b2*a11 - b1*a12) / det
	u := sigma * math.Sqrt((a11+a22+2*a12)/det)
	return (left - right) / u, u > 0
}
