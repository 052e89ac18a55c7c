package decay

const (
	// earlySeconds is how much of a hold is fitted by itself to see what happened in its
	// first moments. A fit of it all would not show that: what is free in it to follow
	// the air's warmth then follows a leak that opened instead.
	earlySeconds = 3.0
	// earlyGuard is how long after the beginning of the fit in s nothing is looked for.
	earlyGuard = 0.1
	// earlyZ is how far a change must stand out there, once weighed by the noise of the
	// whole hold. Few places are looked at, and of 360 undisturbed holds none had more than
	// 4. Noise that remembers makes bends of its own: there changeZ is asked for.
	earlyZ = 6.5
)

// early looks for a change while heat is strong, before [fitter.disturbance] does.
func (s *search) early() (change, bool) {
	if s.f.white.cov == nil {
		return change{}, false
	}
	if s.end() <= earlySeconds {
		return s.tellingEarly(s.f)
	}
	f := newFitter(newData(s.h, s.part.before(s.h, earlySeconds), s.k), s.f.k)
	if len(f.d.samples) < fewest || !f.lookFrom(s.f.white.sol.p) {
		return change{}, false
	}
	if _, found := s.tellingEarly(f); !found || !f.look() {
		return change{}, false
	}
	// Solved once more from a start of its own: a later change may have bent the whole.
	return s.tellingEarly(f)
}

// tellingEarly is the most telling early change of a fit of the beginning, if it is one.
func (s *search) tellingEarly(f *fitter) (change, bool) {
	c := f.mostTelling(f.d.start + earlyGuard)
	if c.z < earlyZ || c.t > f.d.start+quietStart {
		return change{}, false
	}
	least := earlyZ
	if own, known := s.f.ownNoise(c); known {
		c.z *= min(1, s.f.louderThan(own))
		if own.white < 1 {
			least = changeZ
		}
	}
	return c, c.z > least
}

// lookFrom is look from where another fit of the same hold stood.
func (f *fitter) lookFrom(p []float64) bool {
	f.prepare()
	pr := f.problem()
	pr.enough = 3 // scores allow for what a further step would gain
	f.sol = minimise(pr, p)
	return f.keepWhite()
}

// leaveEarly leaves out a knock, or else ends the stretch before the change: whatever
// comes after may be another leak's, and what came before is too short.
func (s *search) leaveEarly(c change) {
	if c.kind == pulse && len(s.knocks) < mostKnocks && s.leaveKnock(c) {
		return
	}
	s.cut, s.found = &c, c.t
	s.shorten(c)
}
