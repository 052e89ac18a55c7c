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
	"boretight/internal/trace"
)

// seedTicket is a visit of an instrument to the made-up shop: one joint as found and,
// after the work, as left.
type seedTicket struct {
	id, joint, closure string
	family             string // of the joint, the room and the gauge
	// found and left are what the joint leaks, in Pa·m³/s; share is the inertial one.
	found, left, share float64
}

// seedTickets are what a shop sees every week.
var seedTickets = [...]seedTicket{
	{"T-1001", "oboe/upper", "all keys closed", "small-laminar", 8.1e-3, 1.1e-3, 0.05},
	{"T-1002", "clarinet/upper", "all keys closed", "mixed-law", 1.4e-2, 2.4e-3, 0.3},
	{"T-1003", "flute/body", "all keys closed", "pressure", 6.0e-3, 3.1e-3, 0.1},
}

// seedHolds is how many holds each trial of the made-up shop has.
const seedHolds = 3

// seedLedger writes a made-up shop into a ledger: its limits, and simulated holds that a
// bench measures as it measures any. It returns how many holds there are. The readings
// are made up and always the same; the times of the records are true.
func seedLedger(ctx context.Context, path string) (n int, err error) {
	b, err := openBook(ctx, path, slog.New(slog.DiscardHandler))
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, b.close()) }()
	random := seedRandom()
	for _, ticket := range seedTickets {
		added, err := ticket.seed(ctx, b, random)
		n += added
		if err != nil {
			return n, fmt.Errorf("ticket %s: %w", ticket.id, err)
		}
	}
	return n, nil
}

// seedRandom makes the same shop each time.
func seedRandom() *rand.Rand { return rand.New(rand.NewPCG(1, 2)) }

// seed records the limit of a ticket's joint and both trials.
func (t seedTicket) seed(ctx context.Context, b *book, random *rand.Rand) (int, error) {
	family, err := sim.FamilyNamed(t.family)
	if err != nil {
		return 0, err
	}
	s := family.Draw(random)
	limit, err := quantity.ParseLeakRate(demoLimit)
	if err != nil {
		return 0, err
	}
	l := ledger.Limit{
		ID: ledger.NewID(), Joint: t.joint, Closure: t.closure, At: sim.StatedPa, Sign: s.Holds[0].Sign.String(), Rate: limit,
		Set: time.Now().UTC().Truncate(time.Microsecond),
	}
	if _, err := b.store.Append(ctx, l.Draft()); err != nil {
		return 0, err
	}
	n := 0
	for _, side := range []struct {
		when string
		rate float64
	}{{config.AsFound, t.found}, {config.AsLeft, t.left}} {
		added, err := t.trial(ctx, b, s, side.when, side.rate)
		n += added
		if err != nil {
			return n, err
		}
	}
	return n, nil
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
	labels := config.Labels{Joint: t.joint}
	return bench.Settings{
		Setup: bench.Setup{
			Bench: "made-up shop", Instrument: labels.Instrument(), Joint: labels.JointOf(), Closure: t.closure,
			When: when, Ticket: t.id, At: truth.StatedPa, VolumeM3: truth.Volume,
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
