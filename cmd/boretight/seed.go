package main

import (
	"context"
	"encoding/json"
	"errors"
	"log/slog"
	"math/rand/v2"
	"slices"
	"time"

	"boretight/internal/bench"
	"boretight/internal/decay"
	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
	"boretight/internal/ledger"
	"boretight/internal/quantity"
	"boretight/internal/trial"
)

// seedHolds is how many holds of each family of joints the made-up shop has.
const seedHolds = 3

// seedFamilies are joints that a shop sees every week.
var seedFamilies = []string{"small-laminar", "mixed-law", "pressure"}

// seedLedger writes simulated holds into a ledger, each found, fitted and judged by
// the same code as one at the bench, and returns how many. The readings are made up
// and always the same; the times of the records are true.
func seedLedger(ctx context.Context, path string) (n int, err error) {
	b, err := openBook(ctx, path, slog.New(slog.DiscardHandler))
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, b.close()) }()
	random := rand.New(rand.NewPCG(1, 2))
	for _, name := range seedFamilies {
		family, err := sim.FamilyNamed(name)
		if err != nil {
			return n, err
		}
		for range seedHolds {
			added, err := seedScenario(ctx, b, family.Draw(random))
			if err != nil {
				return n, err
			}
			n += added
		}
	}
	return n, nil
}

// seedScenario records the holds of one simulated trace.
func seedScenario(ctx context.Context, b *book, s sim.Scenario) (int, error) {
	t, truths, err := s.Run()
	if err != nil {
		return 0, err
	}
	holds := hold.Find(t)
	for i, h := range holds {
		truth := truths[min(i, len(truths)-1)]
		setup := decay.Setup{
			Volume:      decay.Input{Value: truth.Volume, U: 0.02 * truth.Volume},
			Bore:        decay.Input{Value: 2 * truth.Bore, U: 0.1 * truth.Bore},
			Ambient:     decay.Input{Value: truth.Ambient, U: 100},
			Temperature: decay.Input{Value: truth.Temperature, U: 0.5},
			At:          truth.StatedPa,
			SpanU:       -1,
		}
		if err := seedHold(ctx, b, s.Name, h, setup); err != nil {
			return i, err
		}
	}
	return len(holds), nil
}

func seedHold(ctx context.Context, b *book, joint string, h *hold.Hold, setup decay.Setup) error {
	limit, err := quantity.ParseLeakRate(demoLimit)
	if err != nil {
		return err
	}
	told, err := json.Marshal(bench.Told{Fit: setup, Limit: limit, Method: decay.Method})
	if err != nil {
		return err
	}
	id := ledger.NewID()
	if err := b.writer.BeginHold(ledger.Begin{
		ID: id, Gauge: "simulated", Kind: h.Kind, Bench: "made-up shop", Joint: joint,
		Setup: told, Started: time.Now().UTC(),
	}); err != nil {
		return err
	}
	for part := range slices.Chunk(h.Readings, 100) {
		if err := b.writer.AppendReadings(id, part); err != nil {
			return err
		}
	}
	outcome := trial.Judge(h, setup, bench.LimitOf(limit, setup, h))
	outcome.Schema, outcome.ID, outcome.Gauge = trial.SchemaHold, id, "simulated"
	receipt, err := b.writer.EndHold(id, outcome)
	if err != nil {
		return err
	}
	return receipt.Wait(ctx)
}
