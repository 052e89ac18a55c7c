package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"sync"

	"boretight/internal/config"
)

// server serves a bench at one address, and another one after it when the shop's settings
// have changed: [server.again] ends the one and begins anew, in the same process, with
// what is told then. The address stays and is said once; the browser is opened once.
type server struct {
	app
	log  *slog.Logger
	open bool // the page, in the browser
	// next returns what the next bench is told. What the page changed for this run only
	// is laid over with change.
	next func(change func(config.Config) config.Config) (round, error)

	port   *pagePort // nil before the first bench
	folder string    // for what ends with the program, empty before it is needed
	// catalog outlives a bench: that of a demo is nowhere else.
	catalog *shopCatalog

	mu      sync.Mutex
	leave   context.CancelCauseFunc // ends the present bench
	changes []func(*config.Config)
}

// newServer returns a server that has not begun.
func newServer(a app, open bool, next func(func(config.Config) config.Config) (round, error)) *server {
	return &server{app: a, log: slog.New(slog.NewTextHandler(a.err, nil)), open: open, next: next}
}

// errAgain is why a bench ends when another one is to follow.
var errAgain = errors.New("begin anew")

// again ends the present bench as the end of the program would (what was measured is
// judged and recorded, answers under way are given, live streams end, the ledger
// closes), and begins anew with what is told then. It returns at once and may be called
// from any goroutine, that of a request too: its answer is still given.
func (s *server) again() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.leave != nil {
		s.leave(errAgain)
	}
}

// change has the benches after this one told something else, for as long as the program
// runs: for the demo, which keeps no settings.
func (s *server) change(c func(*config.Config)) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.changes = append(s.changes, c)
}

// changed is what is told, with the changes over it.
func (s *server) changed(told config.Config) config.Config {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, c := range s.changes {
		c(&told)
	}
	return told
}

// run serves one bench after another until ctx ends.
func (s *server) run(ctx context.Context) (err error) {
	defer func() {
		if s.port != nil {
			err = errors.Join(err, s.port.Close())
		}
		if s.folder != "" {
			err = errors.Join(err, os.RemoveAll(s.folder))
		}
	}()
	var former *round
	for {
		// Whoever calls again from here on gets what is read from here on.
		present, leave := context.WithCancelCause(ctx)
		s.mu.Lock()
		s.leave = leave
		s.mu.Unlock()
		former, err = s.one(present, former)
		follows := errors.Is(context.Cause(present), errAgain) && ctx.Err() == nil
		leave(nil)
		if !follows {
			return err
		}
		if err != nil && !errors.Is(err, context.Canceled) {
			s.log.Error("the bench did not end cleanly", "error", err)
		}
		s.log.Info("beginning anew")
	}
}

// one serves one bench until ctx ends and returns what it was told. If it cannot begin,
// the former one is served again: a mistake in the settings must not take away the page
// on which it can be mended.
func (s *server) one(ctx context.Context, former *round) (*round, error) {
	r, err := s.next(s.changed)
	var w *work
	if err == nil {
		w, err = s.begin(ctx, r)
	}
	if err != nil && former != nil && ctx.Err() == nil {
		s.log.Error("cannot begin anew; going on as before", "error", err)
		r = *former
		w, err = s.begin(ctx, r)
	}
	if err != nil {
		return former, err
	}
	return &r, w.run(ctx)
}

// temporary returns the folder for what ends with the program.
func (s *server) temporary() (string, error) {
	if s.folder == "" {
		folder, err := os.MkdirTemp("", "boretight-demo-")
		if err != nil {
			return "", fmt.Errorf("make a place for the demo's ledger: %w", err)
		}
		s.folder = folder
	}
	return s.folder, nil
}
