package main

import (
	"context"
	"fmt"
	"slices"
	"time"

	"boretight/internal/bench"
	"boretight/internal/config"
	"boretight/internal/gauge/sim"
)

// repair is the work on the demo's joint. As long as nobody lays anything on the bench it
// goes on by itself, as found, half seated and as left, again and again; from then on the
// joint is what the person at the page says that it is.
type repair struct {
	gauge   string
	repairs sim.Repairs
}

// repairStages are what the demo's joint goes through, and how the bench calls it.
var repairStages = [...]string{sim.StageFound: config.AsFound, sim.StageHalf: "", sim.StageLeft: config.AsLeft}

// lookAtIt is how long a finished trial stays before the next stage is told: less than the
// demo's gauge rests, so that the next hold is recorded under its own name.
const lookAtIt = 2 * time.Second

// repairEvents is room for some seconds of events: nothing here takes long.
const repairEvents = 256

// follow works on the joint until ctx ends.
func (r *repair) follow(ctx context.Context, b *bench.Bench) error {
	events := b.Subscribe(repairEvents)
	defer events.Close()
	own := uint64(1) // how often the demo itself laid something on the bench; 0 when somebody else has
	if r.laid(b) {   // and it lies there again after a restart
		own = 0
		r.obey(b)
	} else if err := r.tell(b, 0); err != nil {
		return err
	}
	held := 0
	var next <-chan time.Time
	for {
		var e bench.Event
		select {
		case <-ctx.Done():
			return nil
		case <-next:
			if own > 0 {
				own++
				if err := r.tell(b, held/sim.StageLoops); err != nil {
					return err
				}
			}
			continue
		case event, ok := <-events.C:
			if !ok {
				return nil
			}
			e = event
		}
		switch d := e.Data.(type) {
		case bench.StateData:
			if d.Gauge == r.gauge && d.Series > own {
				own = 0 // the demo tells nothing any more
				r.obey(b)
			}
		case bench.HoldData:
			if d.Hold == nil || d.Gauge != r.gauge || d.Voided != "" || own == 0 {
				continue
			}
			if held++; held%sim.StageLoops == 0 {
				r.work(held / sim.StageLoops)
				next = time.After(lookAtIt)
			}
		}
	}
}

// work brings the joint to a stage, counted from 0; each repair begins anew.
func (r *repair) work(stage int) { r.repairs.Tell(stage % len(repairStages)) }

// tell brings joint and bench to a stage. Each repair is another ticket.
func (r *repair) tell(b *bench.Bench, stage int) error {
	settings, err := b.Settings(r.gauge)
	if err != nil {
		return err
	}
	settings.Setup.When = repairStages[stage%len(repairStages)]
	settings.Setup.Ticket = fmt.Sprintf("demo-%d", 1+stage/len(repairStages))
	r.work(stage)
	return b.Change(r.gauge, settings)
}

// laid tells whether something was laid on the bench already.
func (r *repair) laid(b *bench.Bench) bool {
	return slices.ContainsFunc(b.Snapshot().Gauges, func(g bench.GaugeState) bool { return g.Name == r.gauge && g.Series > 0 })
}

// obey brings the joint to what lies on the bench.
func (r *repair) obey(b *bench.Bench) {
	settings, err := b.Settings(r.gauge)
	if err != nil {
		return // the gauge is there as long as the bench is
	}
	stage := sim.StageFound
	if settings.Setup.When == config.AsLeft {
		stage = sim.StageLeft
	}
	r.repairs.Tell(stage)
}
