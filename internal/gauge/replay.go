package gauge

import (
	"context"
	"fmt"
	"os"

	"boretight/internal/gauge/frames"
	"boretight/internal/gauge/replay"
	"boretight/internal/trace"
)

// replayGauge plays a trace file.
type replayGauge struct {
	meter
	address Address
}

func newReplay(a Address, _ Options) *replayGauge { return &replayGauge{address: a} }

// Address implements [Gauge].
func (g *replayGauge) Address() Address { return g.address }

// Run implements [Gauge]. Its end is [ErrEnded].
func (g *replayGauge) Run(ctx context.Context, sink Sink) error {
	g.opening()
	t, err := g.load()
	if err != nil {
		err = fmt.Errorf("gauge %s: %w", g.address, err)
		g.closed(PhaseLost, err)
		return err
	}
	resume := g.isOpen()
	id := Identity{Kind: t.Kind, RateHz: replay.Rate(t), Known: true}
	sink.Identify(id)
	var counts frames.Counts
	err = replay.Play(ctx, t, g.address.Speed, resume, func(block []trace.Reading) {
		counts.Readings += uint64(len(block))
		sink.Take(block)
		g.heard(len(block), counts, id, block[len(block)-1].T)
	})
	if err != nil {
		g.closed(PhaseClosed, nil)
		return nil
	}
	g.closed(PhaseEnded, nil)
	return fmt.Errorf("gauge %s: %w", g.address, ErrEnded)
}

func (g *replayGauge) load() (trace.Trace, error) {
	file, err := os.Open(g.address.Target)
	if err != nil {
		return trace.Trace{}, err
	}
	defer file.Close()
	t, err := trace.Read(file)
	if err != nil {
		return trace.Trace{}, err
	}
	if len(t.Readings) == 0 {
		return trace.Trace{}, fmt.Errorf("the file holds no readings")
	}
	return t, nil
}
