package bench

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"golang.org/x/sync/errgroup"

	"boretight/internal/decay"
	"boretight/internal/gauge"
	"boretight/internal/ledger"
	"boretight/internal/quantity"
	"boretight/internal/rig"
)

// Source is one gauge of the bench under the name that pages and metrics use.
type Source struct {
	Name  string
	Gauge gauge.Gauge
}

// Settings are what holds are measured against. A change of them starts a new trial.
type Settings struct {
	// Setup is who and what is measured, for people and records.
	Setup Setup
	// Fit is what is told of the joint and the room. Notes are added to each outcome,
	// for what was assumed before the fit was told, and Doubts, for what of it must
	// stand beside each verdict.
	Fit           decay.Setup
	Notes, Doubts []string
	// Limit is the largest leakage rate that passes; zero means none.
	Limit quantity.LeakRate
	// Template is the volume of a catalog's bore, without the rig. It counts where no volume
	// was told and none is on record; the zero Volume never counts.
	Template rig.Volume
	// Rig is what the rig is made of, but for the gauge, which says itself who it is.
	Rig rig.Identity
	// Replugged tells that the stoppers are taken out and put in again between holds.
	Replugged bool
}

// Observer is told of things that are counted in distributions, which a snapshot
// cannot hold. Its methods are called from several goroutines and must not block.
type Observer interface {
	// HoldEnded is called with the length of the held stretch of each hold.
	HoldEnded(held time.Duration)
	// FitTook is called with the time that each final fit took.
	FitTook(d time.Duration)
}

// Options are what a bench is made of.
type Options struct {
	// Sources are the gauges; at least one, with names that differ.
	Sources []Source
	// Recorder keeps the holds.
	Recorder Recorder
	// LedgerPath names the ledger for people.
	LedgerPath string
	// Records counts the ledger's records without waiting for a disk; nil means not known.
	Records func() int64
	// Copies tells of the daily copies without waiting for a disk; nil when none are made.
	Copies func() CopiesState
	// RigRecords returns all that is on record of rigs, without waiting for a disk. It is
	// looked at when a hold begins. With nil, results say nothing of the rig.
	RigRecords func() []rig.Record
	// Limits returns the shop's limits without waiting for a disk; they count where none
	// is told. May be nil.
	Limits func() []ledger.Limit
	// Trials keeps trials; with nil they are shown only.
	Trials Trials
	// TrialHolds is how many holds make a trial full; 0 means 30.
	TrialHolds int
	// Settings to begin with, on every gauge.
	Settings Settings
	// Now is the wall clock, for records; nil is time.Now.
	Now func() time.Time
	// Logger takes one line for each event an operator would act on; nil discards.
	Logger *slog.Logger
	// Observers may be empty.
	Observers []Observer
	// Follower follows what is measured; may be nil.
	Follower Follower
	// NeedGauges makes Run return an error when a gauge cannot be opened at its
	// start, or fails in a way that waiting does not cure. Without it such a gauge is
	// shown with its trouble, and the others go on.
	NeedGauges bool
}

// Bench is one bench at work. Use [New].
type Bench struct {
	recorder   Recorder
	now        func() time.Time
	logger     *slog.Logger
	observers  []Observer
	follower   Follower
	needGauges bool
	ledgerPath string
	records    func() int64
	copies     func() CopiesState
	rigRecords func() []rig.Record
	limits     func() []ledger.Limit
	trials     Trials
	trialHolds int
	hub        *Hub
	// fitting is held by the one fit under way. A fit of a fast gauge's hold takes some
	// megabytes for some ten milliseconds, and the gauges of a bench are let go together.
	fitting sync.Mutex
	lines   []*line

	// mu guards what a snapshot copies. It is held for moments only, never while
	// judging or recording.
	mu       sync.Mutex
	started  time.Time
	holds    []HoldData // newest first
	verdicts map[string]uint64
	problem  string // the recorder's
}

// keptHolds is how many holds a snapshot lists; older ones are in the ledger.
const keptHolds = 50

// keptEvents is how many events are kept for a page whose connection broke: about
// half a minute of one gauge.
const keptEvents = 1024

// New returns a bench that has not started.
func New(o Options) (*Bench, error) {
	switch {
	case len(o.Sources) == 0:
		return nil, errors.New("make a bench: no gauge given; name one with --gauge")
	case o.Recorder == nil:
		return nil, errors.New("make a bench: no recorder given")
	}
	b := &Bench{
		recorder:   o.Recorder,
		now:        o.Now,
		logger:     o.Logger,
		observers:  o.Observers,
		follower:   o.Follower,
		needGauges: o.NeedGauges,
		ledgerPath: o.LedgerPath,
		records:    o.Records,
		copies:     o.Copies,
		rigRecords: o.RigRecords,
		limits:     o.Limits,
		trials:     o.Trials,
		trialHolds: cmp.Or(o.TrialHolds, mostHolds),
		hub:        NewHub(keptEvents),
		verdicts:   map[string]uint64{"pass": 0, "fail": 0, "inconclusive": 0, "none": 0},
	}
	if b.now == nil {
		b.now = time.Now
	}
	if b.follower == nil {
		b.follower = nobody{}
	}
	if b.logger == nil {
		b.logger = slog.New(slog.DiscardHandler)
	}
	b.started = b.now().UTC()
	names := map[string]bool{}
	for _, s := range o.Sources {
		if names[s.Name] {
			return nil, fmt.Errorf("make a bench: two gauges are named %q; give them names with --gauge NAME=ADDRESS", s.Name)
		}
		names[s.Name] = true
		b.lines = append(b.lines, newLine(b, s, o.Settings))
	}
	return b, nil
}

// Run works the bench until ctx ends, or until every gauge has said all it ever
// will. Holds in progress are then cut, judged and recorded, and the stream of
// events closed, before it returns. It may be called once.
func (b *Bench) Run(ctx context.Context) error {
	defer b.hub.Close()
	group, ctx := errgroup.WithContext(ctx)
	for _, l := range b.lines {
		group.Go(func() error { return l.run(ctx) })
	}
	return group.Wait()
}

// Subscribe returns the stream of events from now on; see [Hub.Subscribe].
func (b *Bench) Subscribe(n int) *Subscription { return b.hub.Subscribe(n) }

// SubscribeFrom returns the stream of events after the one numbered id; see [Hub.SubscribeFrom].
func (b *Bench) SubscribeFrom(id uint64, n int) *Subscription { return b.hub.SubscribeFrom(id, n) }

// line finds a gauge's.
func (b *Bench) line(gauge string) (*line, error) {
	for _, l := range b.lines {
		if l.source.Name == gauge {
			return l, nil
		}
	}
	return nil, fmt.Errorf("%w: %q", ErrNoGauge, gauge)
}

// ErrNoGauge is returned when the bench has no gauge of a name.
var ErrNoGauge = errors.New("the bench has no such gauge")
