// Package copies keeps daily copies of a ledger in a folder.
//
// [Keeper.Run] looks into the folder when it starts and every ten minutes, makes a
// copy when the newest is a day old, and removes the oldest beyond [Kept] after each
// copy that succeeded, never before. What cannot be made is tried again at the next
// look and told by [Keeper.State] meanwhile.
//
// # Names and clocks
//
// A copy is named ledger-LINE-NUMBER-TIME.boretight: the line of the ledger, so that
// ledgers may share a folder; a number that grows by one; the UTC time. Which copy is
// older is told by the number alone, so that a clock that was wrong for a while can
// never make good copies look old. A clock that steps costs at most one copy too many
// for each step of a day or more, and delays the next one by at most a day after a
// restart.
//
// # Caveats
//
// The folder is never made: the mount point of a disk that is not plugged in would
// silently fill the disk below. Two programs that record into one ledger may share
// its folder; the copies of one count for both. A text that was erased from the
// ledger is gone from the copies only when the last one from before has gone.
package copies

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"path/filepath"
	"sync"
	"syscall"
	"time"

	"boretight/internal/ledger"
)

const (
	// Kept is how many copies are kept.
	Kept = 14
	// Every is the age of the newest copy at which another one is made.
	Every = 24 * time.Hour
	// look is the time between two looks into the folder, and so between two tries.
	look = 10 * time.Minute
)

// Source is the ledger: it writes one consistent file under a name that is free.
// Nothing may remain under that name after an error.
type Source interface {
	Copy(ctx context.Context, dst string) error
}

// Options are what a keeper is made of.
type Options struct {
	// Source is the ledger.
	Source Source
	// Folder takes the copies; it must be there when a copy is made.
	Folder string
	// Line names the ledger and what was copied from it; at least 8 letters, digits
	// or dashes, of which the last 8 are used.
	Line string
	// Now is the wall clock, for the names of copies and their ages; nil is time.Now.
	Now func() time.Time
	// Log is for what an operator would act on; nil discards.
	Log *slog.Logger
}

// State is how the copies fare.
type State struct {
	// Folder takes the copies.
	Folder string
	// Newest is when the newest copy was made; zero when there is none.
	Newest time.Time
	// Age of the newest; zero when there is none, or when it is dated in the future.
	Age time.Duration
	// Count is how many there are.
	Count int
	// Problem says why the last try gave no copy, or what else is wrong; mostly empty.
	Problem string
}

// Keeper keeps the copies of one ledger. Use [New].
type Keeper struct {
	source Source
	folder string
	line   string
	now    func() time.Time
	log    *slog.Logger

	mu    sync.Mutex // guards state; never held while the disk works
	state State
}

// New returns a keeper that has not started.
func New(o Options) (*Keeper, error) {
	if len(o.Line) < lineLetters {
		return nil, fmt.Errorf("keep copies in %s: the ledger's line is %q, want %d letters or more", o.Folder, o.Line, lineLetters)
	}
	folder, err := filepath.Abs(o.Folder)
	if err != nil {
		return nil, fmt.Errorf("keep copies in %s: %w", o.Folder, err)
	}
	k := &Keeper{
		source: o.Source, folder: folder, line: o.Line[len(o.Line)-lineLetters:],
		now: o.Now, log: o.Log, state: State{Folder: folder},
	}
	if k.now == nil {
		k.now = time.Now
	}
	if k.log == nil {
		k.log = slog.New(slog.DiscardHandler)
	}
	return k, nil
}

// State tells how the copies fare. It never waits for the disk.
func (k *Keeper) State() State {
	k.mu.Lock()
	defer k.mu.Unlock()
	s := k.state
	if !s.Newest.IsZero() {
		s.Age = max(0, k.now().Sub(s.Newest))
	}
	return s
}

// Run makes copies until ctx ends, and then returns nil. A copy that is being made
// when ctx ends is given up. It may be called once.
func (k *Keeper) Run(ctx context.Context) error {
	looks := time.NewTicker(look)
	defer looks.Stop()
	// The timer does not know the wall clock; the looks see the time that a sleeping
	// machine did not count.
	daily := time.NewTimer(Every)
	defer daily.Stop()
	due := false
	for {
		made, err := k.tend(ctx, due)
		if ctx.Err() != nil {
			return nil
		}
		k.tell(err)
		if made {
			daily.Reset(Every)
		}
		due = due && !made
		select {
		case <-ctx.Done():
			return nil
		case <-looks.C:
		case <-daily.C:
			due = true
		}
	}
}

// tend looks into the folder and makes a copy if one is due, by now or by its age.
func (k *Keeper) tend(ctx context.Context, due bool) (made bool, err error) {
	all, err := k.list()
	if err != nil {
		return false, err
	}
	k.note(all)
	now := k.now().UTC()
	var next int64 = 1
	if n := len(all); n > 0 {
		newest := all[n-1]
		age := now.Sub(newest.made)
		due = due || age >= Every || age <= -Every
		next = newest.number + 1
	} else {
		due = true
	}
	if !due {
		return false, k.tidy(all)
	}
	if err := k.source.Copy(ctx, filepath.Join(k.folder, k.name(next, now))); err != nil {
		return false, told(err)
	}
	if all, err = k.list(); err != nil {
		return true, err
	}
	err = k.tidy(all)
	k.note(all[max(0, len(all)-Kept):])
	return true, err
}

// note keeps what the folder holds for those who ask.
func (k *Keeper) note(all []file) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.state.Count, k.state.Newest = len(all), time.Time{}
	if len(all) > 0 {
		k.state.Newest = all[len(all)-1].made
	}
}

// tell tells the page of a fault, and the log once until it changes.
func (k *Keeper) tell(err error) {
	problem := ""
	if err != nil {
		problem = err.Error()
	}
	k.mu.Lock()
	changed := k.state.Problem != problem
	k.state.Problem = problem
	k.mu.Unlock()
	switch {
	case changed && err != nil:
		k.log.Error("copies of the ledger are not in order", "folder", k.folder, "error", err)
	case changed:
		k.log.Info("copies of the ledger are in order again", "folder", k.folder)
	}
}

// told adds what to do next. That it is tried again is so of every fault.
func told(err error) error {
	switch {
	case errors.Is(err, ledger.ErrNoSpace), errors.Is(err, syscall.ENOSPC):
		return fmt.Errorf("%w (make room on that disk; the older copies are kept)", err)
	case errors.Is(err, ledger.ErrDamaged):
		return fmt.Errorf("%w (the ledger itself is damaged: run boretight check; the older copies are kept)", err)
	}
	return err
}
