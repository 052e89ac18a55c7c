package decay

import "math"

// place puts the next point where the step leads.
func (d *descent) place() {
	for j, h := range d.h {
		d.try[j] = d.s.p[j] + h
	}
	for _, b := range d.pr.bounds { // rounding may have led out of them
		d.try[b.index] = min(max(d.try[b.index], b.lo), b.hi)
	}
}

// step finds the damped step within the bounds. Of the parameters that would leave
// them, the one that gets there first is put at its bound and the rest is solved
// again, until nothing leaves any more. It reports whether no bound was in the way.
func (d *descent) step(damping float64) (free bool) {
	copy(d.held, d.frozen)
	clear(d.put)
	for free = true; ; free = false {
		copy(d.h, d.q.step(d.q.turned, d.scale, d.held, d.put, damping))
		first, share := bound{index: -1}, 1.0
		for _, b := range d.pr.bounds {
			lo, hi := b.reachOf(d.s.p[b.index])
			h := d.h[b.index]
			to := min(max(h, lo), hi)
			if !d.held[b.index] && to != h {
				if part := to / h; first.index < 0 || part < share {
					first, share = b, part
				}
			}
		}
		if first.index < 0 {
			return free
		}
		j := first.index
		lo, hi := first.reachOf(d.s.p[j])
		d.held[j], d.put[j] = true, min(max(d.h[j], lo), hi)
	}
}

// patience is the number of straight steps before a descent counts as long. A hold's
// fit takes about five; where three decays look like two, hundreds lead down a canyon.
const patience = 10

// bend adds to the step what the model's bending asks for: the second derivative of
// the residuals along it, by one more look at the model a tenth of the way, and the
// step that this would need (Transtrum and Sethna, arXiv:1201.5885, 2.3). A correction
// that is not small beside the step is left out.
func (d *descent) bend(size float64) {
	s, n, m := &d.s, d.pr.rows, d.pr.cols
	if d.bent == nil {
		d.bent = make([]float64, d.q.rows)
	}
	const probe = 0.1
	for j, h := range d.h {
		d.try[j] = s.p[j] + probe*h
	}
	if !d.pr.eval(d.try, d.bent[:n], nil) || !finite(d.bent) {
		return
	}
	clear(d.bent[n:])
	for i := range n {
		d.bent[i] = 2 / probe * ((d.bent[i]-s.r[i])/probe - dot(s.jac[i*m:i*m+m], d.h))
	}
	d.q.turn(d.bent)
	clear(d.put)
	a := d.q.step(d.bent, d.scale, d.frozen, d.put, d.damping)
	var long float64
	for j, c := range d.scale {
		long += c * a[j] * c * a[j]
	}
	if long = math.Sqrt(long) / 2; long > 0.375*size {
		return
	}
	for _, b := range d.pr.bounds {
		lo, hi := b.reachOf(s.p[b.index])
		if h := d.h[b.index] + a[b.index]/2; h < lo || h > hi {
			return
		}
	}
	for j := range d.h {
		d.h[j] += a[j] / 2
	}
}

// lengths returns how long the step and the way to the origin are, in scaled columns.
func (d *descent) lengths() (step, all float64) {
	for j, c := range d.scale {
		step += c * d.h[j] * c * d.h[j]
		all += c * d.s.p[j] * c * d.s.p[j]
	}
	return math.Sqrt(step), math.Sqrt(all)
}
