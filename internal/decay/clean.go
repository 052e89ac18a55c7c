package decay

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"boretight/internal/hold"
)

const (
	// shortestClean is the shortest clean stretch in s that still gives a leakage rate
	// once a hold was disturbed.
	shortestClean = 2.0
	// changeMargin in s is left out before a change: it is found to about a bin. A
	// bend may have begun gently: of the time before it, so much more is left out, up
	// to so many seconds.
	changeMargin            = 0.1
	gentleShare, gentleMost = 0.08, 0.5
	// knockBefore and knockAfter in s are left out about a knock: with the blow go the
	// swinging of the hose and the warmth of the air that it moved.
	knockBefore, knockAfter = 0.2, 0.8
	// curedZ is what may still stand out once a knock has been left out.
	curedZ = 5
	// mostKnocks is how many knocks a hold may take and still count as a whole.
	mostKnocks = 3
	// mostCuts bounds the search for where a slow change began.
	mostCuts = 6
)

// search looks for the clean part of one hold.
type search struct {
	h *hold.Hold
	k known

	part   stretch
	f      *fitter
	fault  string // why part cannot be fitted, in a sentence; empty when it is
	knocks []float64
	cut    *change // the change that the stretch ends before
	found  float64 // when that change was first seen, s since isolation
}

// clean fits a hold, and where it was disturbed the part of it that was not.
func clean(h *hold.Hold, k known) *search {
	s := &search{h: h, k: k, part: stretch{span: h.Held}}
	if t, found := lateVent(h); found {
		s.part = s.part.before(h, t-changeMargin)
	}
	s.refit()
	for range mostKnocks + 1 {
		if c, found := s.early(); found {
			s.leaveEarly(c)
		} else if c, found := s.f.disturbance(); found {
			s.leave(c)
		} else {
			break
		}
		if s.cut != nil {
			break
		}
	}
	if s.cut == nil {
		return s
	}
	if s.cut.t < shortestClean-changeMargin { // it is found to about a bin, and rather early
		s.fault = fmt.Sprintf("What was left undisturbed is shorter than %.0f s: hold again, and keep still.", shortestClean)
		return s
	}
	for range mostCuts {
		if !s.followBack() {
			break
		}
	}
	return s
}

func (s *search) refit() { s.f, s.fault = fitted(s.h, s.part, s.k) }

// end is when the stretch ends, in s since isolation.
func (s *search) end() float64 {
	if s.part.span.Len() == 0 {
		return 0
	}
	return s.h.Readings[s.part.span.To-1].Seconds() - s.h.Isolation
}

// leave takes the change out of the stretch: as a knock, if what follows it goes on
// as before, else by ending the stretch before it.
func (s *search) leave(c change) {
	if len(s.knocks) < mostKnocks && s.leaveKnock(c) {
		return
	}
	first := s.first(c)
	if len(s.knocks) < mostKnocks && first.t < c.t-knockBefore && s.leaveKnock(first) {
		return
	}
	s.cut, s.found = &first, first.t
	s.shorten(first)
}

// shorten ends the stretch before the change; knocks after it are of no account.
func (s *search) shorten(c change) {
	cut := *s.cut
	cut.t = min(cut.t, c.t)
	s.cut = &cut
	// At the shortest, what is left must still do.
	end := max(cut.t-c.margin(), min(cut.t, shortestClean)-changeMargin/2)
	s.part = s.part.before(s.h, end)
	s.part.without = slices.DeleteFunc(slices.Clone(s.part.without), func(g gap) bool { return g.to > end })
	s.knocks = slices.DeleteFunc(slices.Clone(s.knocks), func(t float64) bool { return t+knockAfter > end })
	s.refit()
}

// followBack moves the cut further back if the change had begun gently before it: as
// far as changes grow unnoticed, and not beyond what still gives a result. It reports
// whether it did.
func (s *search) followBack() bool {
	if s.f.white.cov == nil || s.cut.kind != bend {
		return false
	}
	earliest := max(s.found-slowest, shortestClean+gentleMost)
	c, found := s.f.onset(earliest, s.cut.size)
	if !found {
		return false
	}
	before := *s
	s.shorten(c)
	if s.fault != "" {
		*s = before
		return false
	}
	return true
}

// margin is how long in s before a change the stretch ends.
func (c change) margin() float64 {
	if c.kind != bend {
		return changeMargin
	}
	return max(changeMargin, min(gentleShare*c.t, gentleMost))
}

// leaveKnock leaves out the moment about a change and reports whether that cures the
// hold: whether what comes after lies on the same curve as what came before.
func (s *search) leaveKnock(c change) bool {
	if s.end() < c.t+knockAfter+1 {
		return false
	}
	part := s.part.leaving(gap{c.t - knockBefore, c.t + knockAfter})
	f, fault := fitted(s.h, part, s.k)
	if fault != "" {
		return false
	}
	// What came back for good leaves nothing to find there; another knock may follow.
	if again := f.mostTelling(f.d.start + quietStart); again.z*f.rescale(again) > curedZ && (again.kind != pulse || math.Abs(again.t-c.t) < 2*knockAfter) {
		return false
	}
	s.part, s.f, s.fault = part, f, fault
	s.knocks = append(s.knocks, c.t)
	return true
}

// first finds the shortest beginning of the stretch that already shows a change,
// given the fit of all of it that shows one. A fit through a great change is bent
// everywhere; through the first of it, hardly, and so tells best where it was.
func (s *search) first(c change) change {
	f, good, end := s.f, 1.0, s.end()
	for end-good > max(0.02*end, 0.25) && end > shortestClean {
		middle := (good + end) / 2
		g := newFitter(newData(s.h, s.part.before(s.h, middle), s.k), s.k)
		if len(g.d.samples) < fewest {
			good = middle
		} else if !g.look() {
			end = middle
		} else if found, ok := g.disturbance(); ok {
			f, c, end = g, found, middle
		} else {
			good = middle
		}
	}
	// What was clean by itself holds at most the first of the change.
	if late := f.mostTelling(max(f.d.start+quietStart, 0.7*good)); late.z > 0 {
		c = late
	}
	return c
}

// tell says in sentences what was found and what was made of it.
func (s *search) tell() (notes []string) {
	if len(s.knocks) > 0 {
		var at []string
		for _, t := range slices.Sorted(slices.Values(s.knocks)) {
			at = append(at, fmt.Sprintf("%.1f", t))
		}
		notes = append(notes, fmt.Sprintf("%s s after isolation the pressure was knocked aside and came back: that moment does not count.", strings.Join(at, " and ")))
	}
	if s.cut != nil {
		notes = append(notes, s.cut.tell())
	}
	if s.f.warmed {
		notes = append(notes, "The joint warmed or cooled during the hold, as under a lamp or in a hand: the interval is wider for it. Leave it alone for a minute and hold again.")
	}
	if s.h.Ending == hold.Redrawn {
		notes = append(notes, "The joint was drawn again without a vent: only the stretch before counts, and the next hold begins without a rest.")
	}
	return notes
}

// disturbed reports whether there is anything to tell.
func (s *search) disturbed() bool {
	return len(s.knocks) > 0 || s.cut != nil || s.f.warmed || s.h.Ending == hold.Redrawn
}
