package bench_test

import (
	"cmp"
	"context"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"time"

	"boretight/internal/gauge"
	"boretight/internal/ledger"
	"boretight/internal/trace"
)

// scripted is a gauge that says given readings at their times, then ends.
type scripted struct {
	readings []trace.Reading
	serial   string // FAKE-1 when empty
	unnamed  bool   // it does not say who it is
	// after, if there is one, is called after each reading.
	after func(trace.Reading)
	// then, if there is one, ends the gauge; else it ends as a recording does.
	then func(gauge.Sink) error
}

var _ gauge.Gauge = (*scripted)(nil)

func (g *scripted) Run(ctx context.Context, sink gauge.Sink) error {
	start := time.Now()
	sink.Identify(g.identity())
	for i, r := range g.readings {
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(time.Until(start.Add(r.T))):
		}
		sink.Take(g.readings[i : i+1])
		if g.after != nil {
			g.after(r)
		}
	}
	if g.then != nil {
		return g.then(sink)
	}
	time.Sleep(time.Second)
	return gauge.ErrEnded
}

func (g *scripted) identity() gauge.Identity {
	return gauge.Identity{Serial: cmp.Or(g.serial, "FAKE-1"), Known: !g.unnamed}
}

func (g *scripted) Stats() gauge.Stats {
	return gauge.Stats{Up: true, Phase: gauge.PhaseReading, Identity: g.identity()}
}
func (g *scripted) Address() gauge.Address { return gauge.Address{Scheme: gauge.Sim, Target: "fake"} }

// oneHold is a hold at 100 Hz: see sampled.
func oneHold(rest, start, k, held, after float64) []trace.Reading {
	return sampled(100, rest, start, k, held, after)
}

// sampled is a laminar leak at constant temperature in closed form under suction: a
// rest, half a second of draw to start Pa, a hold with C/V = k, a vent and a rest.
func sampled(rate, rest, start, k, held, after float64) []trace.Reading {
	const ambient, draw = 98300, 0.5
	random := rand.New(rand.NewPCG(1, 2))
	decay := func(t float64) float64 {
		e := math.Exp(-k * t)
		return 2 * ambient * start * e / (2*ambient - start + start*e)
	}
	var readings []trace.Reading
	for i := range int((rest + draw + held + after) * rate) {
		t := float64(i) / rate
		var delta float64
		switch {
		case t < rest:
		case t < rest+draw:
			delta = start * (t - rest) / draw
		case t < rest+draw+held:
			delta = decay(t - rest - draw)
		default:
			delta = decay(held) * math.Exp(-(t-rest-draw-held)/0.02)
		}
		readings = append(readings, trace.Reading{
			T:        time.Duration(math.Round(t * 1e9)),
			Pressure: 13.6 - delta + random.NormFloat64(),
			Celsius:  22.5,
		})
	}
	return readings
}

// later returns readings moved behind others.
func later(readings, before []trace.Reading) []trace.Reading {
	moved := slices.Clone(readings)
	for i := range moved {
		moved[i].T += before[len(before)-1].T + 10*time.Millisecond
	}
	return moved
}

// memorySink is a ledger's store in memory.
type memorySink struct {
	// delay is how long a commit takes; fault makes commits fail.
	delay time.Duration
	fault error

	mu    sync.Mutex
	holds map[string]*memoryHold
}

type memoryHold struct {
	begin    ledger.Begin
	end      *ledger.End
	readings []trace.Reading
	ended    time.Time
}

var _ ledger.Sink = (*memorySink)(nil)

func newMemorySink() *memorySink { return &memorySink{holds: map[string]*memoryHold{}} }

func (s *memorySink) Commit(_ context.Context, b ledger.Batch) (map[string]error, error) {
	time.Sleep(s.delay)
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.fault != nil {
		return nil, s.fault
	}
	for _, step := range b.Steps {
		switch {
		case step.Begin != nil:
			s.holds[step.Begin.ID] = &memoryHold{begin: *step.Begin}
		case step.Block != nil:
			h := s.holds[step.Block.Hold]
			readings, err := step.Block.Readings()
			if err != nil {
				return nil, err
			}
			h.readings = append(h.readings, readings...)
		case step.End != nil:
			h := s.holds[step.End.ID]
			h.end, h.ended = step.End, time.Now()
		}
	}
	return nil, nil
}

func (s *memorySink) hold(id string) *memoryHold {
	s.mu.Lock()
	defer s.mu.Unlock()
	if h := s.holds[id]; h != nil {
		return h
	}
	panic("no hold " + id + " among " + slices.Sorted(maps.Keys(s.holds))[0])
}

func (*memorySink) Abandoned(context.Context, string) ([]ledger.OpenHold, error) { return nil, nil }
func (*memorySink) Leave(context.Context, string) error                          { return nil }
func (*memorySink) Interrupt(context.Context, ledger.OpenHold, time.Time) (bool, error) {
	return false, nil
}
