package guided

import (
	"fmt"

	"boretight/internal/air"
	"boretight/internal/hold"
	"boretight/internal/rig"
	"boretight/internal/trace"
)

// staged leads through a number of plain holds in each of several stages.
type staged struct {
	series
	title  string   // of the procedure
	stages []string // what is to be set up before the holds of each; at least one
	each   int      // holds a stage
	holds  []rated
}

func (s *staged) want() int { return s.each * len(s.stages) }

// Done implements [Procedure].
func (s *staged) Done() bool { return len(s.holds) >= s.want() }

// Next implements [Procedure].
func (s *staged) Next() string {
	n := len(s.holds)
	if s.Done() {
		return s.title + ": complete."
	}
	way := "draw"
	if s.sign == air.Pressure {
		way = "press"
	}
	return fmt.Sprintf("%s, %s: %s, %s to a little over %.4g kPa, shut the valve, keep still for %.0f s or more, vent.",
		s.title, count("hold", n+1, s.want()), s.stages[n/s.each], way, s.told.at()/1e3, s.still())
}

// Held implements [Procedure].
func (s *staged) Held(id string, h *hold.Hold) Reply {
	if s.Done() {
		return Reply{}
	}
	r, no := s.rate(id, h)
	if no.Text != "" {
		return no
	}
	return s.count(r, "")
}

// count takes a hold that counts, with what else there is to say of it.
func (s *staged) count(r rated, more string) Reply {
	s.holds = append(s.holds, r)
	return accepted("%s counts: %s%s", count("hold", len(s.holds), s.want()), more, s.sayRate(r.rate))
}

// Line implements [Procedure].
func (s *staged) Line(text string, _ []trace.Reading) Reply { return orders(text, s.back) }

// InputEnded implements [Procedure].
func (s *staged) InputEnded() {}

func (s *staged) back() (string, bool) {
	n := len(s.holds)
	if n == 0 {
		return "", false
	}
	s.holds = s.holds[:n-1]
	if n == 1 {
		s.sign = 0
	}
	return fmt.Sprintf("hold %d", n), true
}

// meaned is the mean rate of a stage's holds.
type meaned struct {
	rate        rig.Rate
	temperature float64 // of the gas, K
	doubts      []string
}

// stage returns the mean rate of one stage.
func (s *staged) stage(i int) (m meaned, err error) {
	holds := s.holds[i*s.each : min((i+1)*s.each, len(s.holds))]
	rates := make([]rig.Rate, len(holds))
	for j, h := range holds {
		rates[j] = h.rate
		m.temperature += h.temperature / float64(len(holds))
	}
	m.rate, m.doubts, err = rig.MeanRate(rates)
	return m, err
}

// ids are those of all holds that count.
func (s *staged) ids() (ids []string) {
	for _, h := range s.holds {
		ids = append(ids, h.ids...)
	}
	return ids
}
