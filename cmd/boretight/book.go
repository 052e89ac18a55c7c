package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/adrg/xdg"

	"boretight/internal/bench"
	"boretight/internal/catalog"
	"boretight/internal/ledger"
	"boretight/internal/ledger/sqlite"
	"boretight/internal/trial"
	"boretight/internal/web"
)

// usualLedger is the ledger's place below the system's folder of data.
const usualLedger = "boretight/ledger.boretight"

// ledgerPath returns the ledger to use: the one told, or the usual one.
func ledgerPath(told string) string {
	if told != "" {
		return told
	}
	return filepath.Join(xdg.DataHome, usualLedger)
}

// book is an open ledger and the writer that records holds into it.
type book struct {
	path    string
	store   *sqlite.DB
	writer  *ledger.Writer
	stop    context.CancelFunc
	written chan error
}

// commitObserver is told how long each commit took.
type commitObserver interface{ LedgerWriteTook(time.Duration) }

// openBook opens a ledger for recording; an empty path means the usual one, whose
// folder is made. The writer runs until close, whatever becomes of ctx: what was
// measured is recorded.
func openBook(ctx context.Context, told string, log *slog.Logger, observers ...commitObserver) (*book, error) {
	if scheme, _, ok := strings.Cut(told, "://"); ok {
		// The rest may hold a password, so it is not repeated.
		return nil, &hintedError{
			err:  fmt.Errorf("open ledger %s://…: a ledger is a file; databases on other machines are not built yet", scheme),
			hint: "give a file with --ledger",
		}
	}
	path := ledgerPath(told)
	if told == "" {
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			return nil, fmt.Errorf("make the data folder: %w", err)
		}
	}
	store, err := sqlite.Open(ctx, path, sqlite.Options{Log: log})
	if err != nil {
		return nil, err
	}
	b := &book{path: path, store: store, written: make(chan error, 1)}
	b.writer = ledger.NewWriter(store, ledger.WriterOptions{
		Log: log,
		Observe: func(c ledger.Commit) {
			for _, o := range observers {
				o.LedgerWriteTook(c.Duration)
			}
		},
	})
	running, stop := context.WithCancel(context.WithoutCancel(ctx))
	b.stop = stop
	go func() { b.written <- b.writer.Run(running) }()
	return b, nil
}

// close commits what is left and folds the journal in.
func (b *book) close() error {
	b.stop()
	return errors.Join(<-b.written, b.store.Close())
}

// openForReading opens a ledger that is there.
func openForReading(ctx context.Context, told string) (*sqlite.DB, error) {
	return sqlite.OpenReadOnly(ctx, ledgerPath(told))
}

// shelf shows the page what a ledger has, and the catalog that goes with it.
type shelf struct {
	store   ledger.Store
	catalog func() (catalog.Catalog, error)
}

var _ web.Ledger = shelf{}

// Holds implements [web.Ledger].
func (s shelf) Holds(ctx context.Context, before string, limit int) ([]bench.HoldData, error) {
	entries, err := s.store.Holds(ctx, ledger.Filter{Before: before, Limit: limit})
	if err != nil {
		return nil, err
	}
	return s.listed(ctx, entries)
}

// listed returns holds without their readings: they are most of a ledger, and one
// hold whose readings are damaged must not hide the others.
func (s shelf) listed(ctx context.Context, entries []ledger.Entry) ([]bench.HoldData, error) {
	ids := make([]string, len(entries))
	for i, e := range entries {
		ids[i] = e.ID
	}
	records, err := recordsOfEach(ctx, s.store, ids)
	if err != nil {
		return nil, err
	}
	holds := make([]bench.HoldData, len(records))
	for i := range records {
		if holds[i], err = recordedHold(&records[i].hold, records[i].aside); err != nil {
			return nil, err
		}
	}
	return holds, nil
}

// Hold implements [web.Ledger].
func (s shelf) Hold(ctx context.Context, id string) (bench.HoldData, error) {
	h, err := s.store.Hold(ctx, id)
	switch {
	case errors.Is(err, ledger.ErrNotFound):
		return bench.HoldData{}, fmt.Errorf("%w: %s", web.ErrNoHold, id)
	case err != nil:
		return bench.HoldData{}, err
	}
	r, err := recordsOf(ctx, s.store, id)
	if err != nil {
		return bench.HoldData{}, err
	}
	return recordedHold(h, r.aside)
}

func holdData(h *ledger.Hold) (bench.HoldData, error) {
	d := bench.HoldData{Ended: h.Begin.Started}
	d.ID, d.Gauge = h.Begin.ID, h.Begin.Gauge
	if h.End == nil {
		d.Trace = samples(h, firstReading(h))
		d.Unended = bench.BeingMeasured
		d.Notes = []string{"The result stands here once the hold has ended."}
		return d, nil
	}
	outcome, err := h.End.Judged()
	if err != nil {
		return d, err
	}
	d.Outcome, d.Ended = outcome, h.End.Ended
	d.Trace = samples(h, restLevel(h, outcome))
	d.ID, d.Gauge = h.Begin.ID, h.Begin.Gauge
	if h.End.Interrupted {
		d.Unended = bench.Interrupted
		d.Notes = append(d.Notes, "The program was stopped in mid-hold: the readings are kept, there is no result.")
	}
	return d, nil
}

// samples returns the readings of a hold as the page draws them: against the level at rest.
func samples(h *ledger.Hold, rest float64) []bench.Sample {
	s := make([]bench.Sample, len(h.Trace.Readings))
	for i, r := range h.Trace.Readings {
		s[i] = bench.Sample{T: r.Seconds(), Pressure: r.Pressure - rest}
	}
	return bench.Thin(s)
}

// restLevel is the gauge's reading before the draw, in Pa. Of what was no hold it is the
// first reading, for that was in the rest.
func restLevel(h *ledger.Hold, o trial.Outcome) float64 {
	switch {
	case h.End.Parts != nil:
		return h.End.Parts.RestLevel
	case o.Zero != nil:
		return o.Zero.Value
	}
	return firstReading(h)
}

func firstReading(h *ledger.Hold) float64 {
	if len(h.Trace.Readings) == 0 {
		return 0
	}
	return h.Trace.Readings[0].Pressure
}
