package decay

import "boretight/internal/hold"

// stretch is the part of a hold that a fit goes by.
type stretch struct {
	span    hold.Span
	without []gap
}

// gap is a moment that does not count, in s since isolation.
type gap struct{ from, to float64 }

// has reports whether the stretch has the time t since isolation.
func (s stretch) has(t float64) bool {
	for _, g := range s.without {
		if t >= g.from && t <= g.to {
			return false
		}
	}
	return true
}

// before is the part of the stretch that ends at time t since isolation.
func (s stretch) before(h *hold.Hold, t float64) stretch {
	for s.span.To > s.span.From && h.Readings[s.span.To-1].Seconds() > h.Isolation+t {
		s.span.To--
	}
	return s
}

// leaving is the stretch without a further moment.
func (s stretch) leaving(g gap) stretch {
	s.without = append(s.without[:len(s.without):len(s.without)], g)
	return s
}
