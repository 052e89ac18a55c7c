package sim

// run takes the engine through the phases and shows every step to see, with the
// absolute pressure and ambient at both ends taken as straight between.
func (e *engine) run(phases []phase, longest float64, see func(from, to instantaneous), passed func(p phase, now instantaneous)) {
	next := 0 // of the breaks
	for _, ph := range phases {
		passed(ph, e.instant())
		led := e.lead(ph)
		dt := firstStep
		for e.t < ph.end {
			until := ph.end
			for next < len(e.events.breaks) && e.events.breaks[next] <= e.t {
				next++
				dt = firstStep
			}
			if next < len(e.events.breaks) {
				until = min(until, e.events.breaks[next])
			}
			from := e.instant()
			left := until - e.t
			// Two even steps rather than a long one and a sliver.
			switch {
			case left <= dt:
				e.step(left, led)
				e.t = until
			case left < 2*dt:
				e.step(left/2, led)
			default:
				e.step(dt, led)
			}
			see(from, e.instant())
			dt = min(dt*stepGrowth, longest)
		}
	}
}

// instantaneous is the state of the air that a sensor could see.
type instantaneous struct {
	t, p, ambient float64
}

func (e *engine) instant() instantaneous {
	return instantaneous{t: e.t, p: e.p, ambient: e.now.ambient}
}

// lead returns the pressure that a phase forces on the bore, nil if none.
func (e *engine) lead(ph phase) func(t float64) float64 {
	if ph.shape == nil {
		return nil
	}
	from := e.p - e.now.ambient
	return func(t float64) float64 {
		x := min((t-ph.start)/(ph.end-ph.start), 1)
		ambient := e.air.Ambient + e.air.AmbientDrift*t
		return ambient + from + (ph.to-from)*ph.shape(x)
	}
}
