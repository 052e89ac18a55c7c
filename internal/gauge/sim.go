package gauge

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"

	"boretight/internal/gauge/sim"
)

// simGauge is a simulated gauge. It speaks the bytes of the frame protocol, so all
// that holds for a real one holds for it.
type simGauge struct {
	listener
	seed    uint64
	speed   float64
	repairs *sim.Repairs
}

// newSim opens the device once to see that it exists; a simulation starts nothing.
func newSim(a Address, o Options) (*simGauge, error) {
	g := &simGauge{listener: newListener(a, o), seed: o.Seed, speed: cmp.Or(a.Speed, 1), repairs: o.Repairs}
	if a.Seed != 0 {
		g.seed = a.Seed
	}
	d, err := g.open(context.Background())
	if err != nil {
		return nil, err
	}
	return g, d.Close()
}

// Run implements [Gauge].
func (g *simGauge) Run(ctx context.Context, sink Sink) error {
	return g.run(ctx, sink, g.open, func(err error) error {
		if errors.Is(err, io.EOF) {
			return fmt.Errorf("gauge %s: %w", g.address, ErrEnded)
		}
		return &PortError{Address: g.address, Fault: FaultGone, Err: err, text: fmt.Sprintf("gauge %s: %v", g.address, err)}
	})
}

func (g *simGauge) open(context.Context) (device, error) {
	d, err := sim.OpenWith(g.address.Target, sim.Play{Seed: g.seed, Speed: g.speed, Repairs: g.repairs})
	if err != nil {
		return nil, fmt.Errorf("gauge %s: %w", g.address, err)
	}
	return d, nil
}
