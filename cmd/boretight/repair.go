package main

import (
	"context"
	"fmt"
	"time"

	"boretight/internal/bench"
	"boretight/internal/config"
	"boretight/internal/gauge/sim"
)

// repairStages are what the demo's joint goes through, and how the bench calls it.
var repairStages = [...]string{config.AsFound, "", config.AsLeft}

// lookAtIt is how long a finished trial stays before the next joint is told: less than
// the demo's gauge rests, so that the next hold is recorded under its own name.
const lookAtIt = 2 * time.Second

// repairEvents is room for some seconds of events: nothing here takes long.
const repairEvents = 256

// tellRepair tells the bench what the demo's gauge measures, as a person at it would:
// when the joint is another one, a new trial begins.
func tellRepair(ctx context.Context, b *bench.Bench) error {
	events := b.Subscribe(repairEvents)
	defer events.Close()
	tellStage(b, 0)
	var held int
	var next <-chan time.Time
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-next:
			tellStage(b, held/sim.StageLoops)
		case e, ok := <-events.C:
			if !ok {
				return nil
			}
			d, is := e.Data.(bench.HoldData)
			if !is || d.Hold == nil {
				continue
			}
			if held++; held%sim.StageLoops == 0 {
				next = time.After(lookAtIt)
			}
		}
	}
}

// tellStage tells the bench of a stage, counted from 0; each repair is another ticket.
func tellStage(b *bench.Bench, stage int) {
	settings := b.Settings()
	settings.Setup.When = repairStages[stage%len(repairStages)]
	settings.Setup.Ticket = fmt.Sprintf("demo-%d", 1+stage/len(repairStages))
	b.Change(settings)
}
