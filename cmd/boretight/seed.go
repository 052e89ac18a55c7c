package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"slices"
	"time"

	"boretight/internal/bench"
	"boretight/internal/config"
	"boretight/internal/decay"
	"boretight/internal/gauge"
	"boretight/internal/gauge/sim"
	"boretight/internal/ledger"
	"boretight/internal/quantity"
	"boretight/internal/ticket"
	"boretight/internal/trace"
)

// seedHolds is how many holds each trial of the made-up shop has.
const seedHolds = 3

// seedLedger writes a made-up shop into a ledger: its tickets, its limits, and simulated
// holds that a bench measures as it measures any. It returns how many holds there are. The readings
// are made up and always the same; the times of the records are true.
func seedLedger(ctx context.Context, path string) (n int, err error) {
	b, err := openBook(ctx, path, slog.New(slog.DiscardHandler))
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, b.close()) }()
	return seedBook(ctx, b)
}

// seedShop writes a made-up shop into a demo's new ledger while the bench works: the page is
// not kept waiting.
func (w *work) seedShop(ctx context.Context) {
	if _, err := seedBook(ctx, w.book); err != nil && ctx.Err() == nil {
		w.log.Warn("the made-up shop is not whole", "error", err)
	}
}

// seedBook writes the made-up shop.
func seedBook(ctx context.Context, b *book) (n int, err error) {
	random := seedRandom()
	for _, visit := range seedTickets {
		added, err := visit.seed(ctx, b, random)
		n += added
		if err != nil {
			return n, fmt.Errorf("ticket of %s: %w", visit.joint(), err)
		}
	}
	return n, nil
}

// seedRandom makes the same shop each time.
func seedRandom() *rand.Rand { return rand.New(rand.NewPCG(1, 2)) }

// seed records a ticket with the work, the limit of its joint, and both trials.
func (t seedTicket) seed(ctx context.Context, b *book, random *rand.Rand) (int, error) {
	family, err := sim.FamilyNamed(t.family)
	if err != nil {
		return 0, err
	}
	s := family.Draw(random)
	for _, sign := range []sim.Sign{sim.Suction, sim.Pressure} {
		if err := t.setLimit(ctx, b, sign.String()); err != nil {
			return 0, err
		}
	}
	kept, err := t.open(ctx, b)
	if err != nil {
		return 0, err
	}
	t.number = kept.ID
	n, err := t.trial(ctx, b, s, config.AsFound, t.found)
	if err != nil {
		return n, err
	}
	for _, w := range t.visit.Work {
		if _, err := b.store.AddWork(ctx, kept.ID, w); err != nil {
			return n, err
		}
	}
	added, err := t.trial(ctx, b, s, config.AsLeft, t.left)
	n += added
	if err != nil || t.remark == "" {
		return n, err
	}
	kept.Closed, kept.Remark = time.Now().UTC(), t.remark
	_, err = b.store.KeepTicket(ctx, kept)
	return n, err
}

// setLimit records what the shop accepts of the joint.
func (t seedTicket) setLimit(ctx context.Context, b *book, sign string) error {
	limit, err := quantity.ParseLeakRate(demoLimit)
	if err != nil {
		return err
	}
	_, err = b.store.Append(ctx, ledger.Limit{
		ID: ledger.NewID(), Joint: t.joint(), At: sim.StatedPa, Sign: sign, Rate: limit,
		Set: time.Now().UTC().Truncate(time.Microsecond),
	}.Draft())
	return err
}

// open records the ticket as it stands when the instrument comes in.
func (t seedTicket) open(ctx context.Context, b *book) (ticket.Ticket, error) {
	visit, err := seenBefore(ctx, b.store, t.visit)
	if err != nil {
		return visit, err
	}
	visit.Work = nil
	return b.store.KeepTicket(ctx, visit)
}

// trial records holds of the joint while it leaks so much.
func (t seedTicket) trial(ctx context.Context, b *book, s sim.Scenario, when string, rate float64) (int, error) {
	sign := s.Holds[0].Sign
	leak, err := sim.NewLeak(rate, t.share, sim.StatedPa, sign, s.Air)
	if err != nil {
		return 0, err
	}
	s.Leaks, s.StatedPa = []sim.Leak{leak}, sim.StatedPa
	s.Holds = slices.Repeat(s.Holds[:1], seedHolds)
	made, truths, err := s.Run()
	if err != nil {
		return 0, err
	}
	known, err := readKnown(ctx, b.store)
	if err != nil {
		return 0, err
	}
	run, err := bench.New(bench.Options{
		Sources:    []bench.Source{{Name: "simulated", Gauge: recorded{made}}},
		Recorder:   b.writer,
		RigRecords: known.rigRecords,
		Limits:     known.limitsInForce,
		Trials:     &trialBook{book: b},
		Settings:   t.settings(when, truths[0]),
		NeedGauges: true,
	})
	if err != nil {
		return 0, err
	}
	if err := run.Run(ctx); err != nil {
		return 0, err
	}
	state := run.Snapshot()
	if state.Ledger.Problem != "" {
		return len(state.Holds), errors.New(state.Ledger.Problem)
	}
	return len(state.Holds), nil
}

// settings are what the made-up repairer tells of the joint.
func (t seedTicket) settings(when string, truth sim.Truth) bench.Settings {
	labels := config.Labels{Joint: t.joint()}
	return bench.Settings{
		Setup: bench.Setup{
			Bench: "made-up shop", Instrument: labels.Instrument(), Joint: labels.JointOf(),
			When: when, Ticket: t.number, At: truth.StatedPa, VolumeM3: truth.Volume,
		},
		Fit: decay.Setup{
			Volume:      decay.Input{Value: truth.Volume, U: 0.02 * truth.Volume},
			Bore:        decay.Input{Value: 2 * truth.Bore, U: 0.1 * truth.Bore},
			Ambient:     decay.Input{Value: truth.Ambient, U: 100},
			Temperature: decay.Input{Value: truth.Temperature, U: 0.5},
			At:          truth.StatedPa,
			SpanU:       -1,
		},
	}
}

// recorded is a gauge that says at once what was made up.
type recorded struct{ trace trace.Trace }

var _ gauge.Gauge = recorded{}

func (r recorded) Run(_ context.Context, sink gauge.Sink) error {
	sink.Identify(gauge.Identity{Serial: "SIMULATED", Kind: r.trace.Kind, Known: true})
	for part := range slices.Chunk(slices.Clone(r.trace.Readings), 100) {
		sink.Take(part)
	}
	return gauge.ErrEnded
}

func (r recorded) Stats() gauge.Stats {
	return gauge.Stats{Up: true, Phase: gauge.PhaseReading, Identity: gauge.Identity{Serial: "SIMULATED", Known: true}}
}

func (r recorded) Address() gauge.Address {
	return gauge.Address{Scheme: gauge.Sim, Target: "made-up shop"}
}
