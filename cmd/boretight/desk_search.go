package main

import (
	"context"
	"strings"
	"sync"
	"time"

	"boretight/internal/gauge"
	"boretight/internal/web"
)

// gaugeSearch looks for gauges when the page asks for it. One search goes on at a time;
// [gaugeSearch.run] carries it out, so that it ends with the bench.
type gaugeSearch struct {
	claims *gauge.Claims
	find   func(context.Context, gauge.FindOptions, func(gauge.Found)) error
	asked  chan struct{}

	mu    sync.Mutex
	state web.Search
}

func newGaugeSearch(claims *gauge.Claims) *gaugeSearch {
	return &gaugeSearch{claims: claims, find: gauge.Find, asked: make(chan struct{}, 1)}
}

// begin asks for a search, unless one goes on.
func (s *gaugeSearch) begin() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.state.Going {
		return
	}
	s.state = web.Search{Going: true, Began: time.Now()}
	s.asked <- struct{}{} // has room: none was asked for
}

// now is what was found up to now.
func (s *gaugeSearch) now() web.Search {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.state
	now.Found = append([]web.FoundPort(nil), now.Found...)
	return now
}

// run carries out searches until ctx ends.
func (s *gaugeSearch) run(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-s.asked:
		}
		err := s.find(ctx, gauge.FindOptions{Claims: s.claims}, func(f gauge.Found) {
			s.mu.Lock()
			defer s.mu.Unlock()
			s.state.Found = append(s.state.Found, foundPort(f))
		})
		s.mu.Lock()
		s.state.Going = false
		if err != nil && ctx.Err() == nil {
			s.state.Problem = said(err)
		}
		s.mu.Unlock()
	}
}

// heardWords say what was heard at a port.
var heardWords = map[gauge.Heard]string{
	gauge.HeardGauge:     "A gauge",
	gauge.HeardFrames:    "A gauge that did not say who it is",
	gauge.HeardText:      "Numbers as text",
	gauge.HeardNoise:     "Something that makes no sense was heard: no gauge, or one at an unusual rate.",
	gauge.HeardNothing:   "Nothing was heard.",
	gauge.HeardBusy:      "Used by another program, or by this one.",
	gauge.HeardForbidden: "This user may not open it.",
	gauge.HeardFault:     "It does not work.",
}

// foundPort is what was found at a port, in words.
func foundPort(f gauge.Found) web.FoundPort {
	p := web.FoundPort{Port: f.Port.Device, What: strings.TrimSpace(describe(f.Port)), Heard: heardWords[f.Heard], Serial: f.Identity.Serial}
	if f.Err != nil {
		p.Says = said(f.Err)
	}
	switch f.Heard {
	case gauge.HeardGauge, gauge.HeardFrames:
		p.Address = f.Address.String()
	case gauge.HeardText:
		if f.Err == nil {
			p.Address = f.Address.String()
		}
	}
	return p
}
