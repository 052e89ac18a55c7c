package copies_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/ledger/copies"
)

// source writes small files for copies.
type source struct {
	mu   sync.Mutex // guards all below
	made int
	err  error
	step time.Duration // of the wall clock; the timers know nothing of it
}

func (s *source) Copy(_ context.Context, dst string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.err != nil {
		return fmt.Errorf("copy ledger to %s: %w", dst, s.err)
	}
	f, err := os.OpenFile(dst, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	s.made++
	_, err = fmt.Fprint(f, s.made)
	return errors.Join(err, f.Close())
}

// now is the wall clock.
func (s *source) now() time.Time {
	s.mu.Lock()
	defer s.mu.Unlock()
	return time.Now().Add(s.step)
}

// wall sets how far the wall clock has stepped.
func (s *source) wall(step time.Duration) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.step = step
}

// fails makes further copies fail; nil makes them succeed again.
func (s *source) fails(err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.err = err
}

// count returns how many copies were made, ever.
func (s *source) count() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.made
}

// shop is a keeper at work within a bubble of fake time.
type shop struct {
	*source
	*copies.Keeper
	folder string
}

// work runs a keeper during f.
func (s *shop) work(t *testing.T, f func()) {
	t.Helper()
	var err error
	s.Keeper, err = copies.New(copies.Options{
		Source: s.source, Folder: s.folder, Line: "019ab8c2-7d3e-7a52-9f10-3b5c1e8a4d27",
		Now: s.now,
	})
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- s.Run(ctx) }()
	synctest.Wait()
	f()
	cancel()
	require.NoError(t, <-done)
}

// pass lets time pass.
func pass(d time.Duration) {
	time.Sleep(d) // within a bubble
	synctest.Wait()
}

// kept returns what the folder's files hold, by name.
func (s *shop) kept(t *testing.T) []string {
	t.Helper()
	entries, err := os.ReadDir(s.folder)
	require.NoError(t, err)
	var all []string
	for _, e := range entries {
		b, err := os.ReadFile(filepath.Join(s.folder, e.Name()))
		require.NoError(t, err)
		all = append(all, string(b))
	}
	return all
}

func inBubble(t *testing.T, f func(t *testing.T, s *shop)) {
	t.Helper()
	folder := t.TempDir()
	synctest.Test(t, func(t *testing.T) { f(t, &shop{source: &source{}, folder: folder}) })
}

const hour, day = time.Hour, 24 * time.Hour

func TestACopyADayAndFourteenKept(t *testing.T) {
	inBubble(t, func(t *testing.T, s *shop) {
		s.work(t, func() {
			assert.Equal(t, 1, s.count(), "the first at once")
			pass(5*hour + time.Second)
			state := s.State()
			assert.Equal(t, 5*hour+time.Second, state.Age)
			assert.Equal(t, 1, state.Count)
			assert.Empty(t, state.Problem)
			pass(19 * hour)
			assert.Equal(t, 2, s.count())
			pass(18 * day)
			assert.Equal(t, 20, s.count())
			assert.Equal(t, copies.Kept, s.State().Count)
			assert.Equal(t, []string{"7", "8", "9", "10", "11", "12", "13", "14", "15", "16", "17", "18", "19", "20"}, s.kept(t))
		})
	})
}

func TestStartingOftenMakesNoFurtherCopies(t *testing.T) {
	inBubble(t, func(t *testing.T, s *shop) {
		for range 5 {
			s.work(t, func() { pass(hour) })
		}
		assert.Equal(t, 1, s.count())
		pass(20 * hour)
		s.work(t, func() {})
		assert.Equal(t, 2, s.count(), "the copy of the day before is old")
	})
}

func TestAStepOfTheClockCostsNoGoodCopy(t *testing.T) {
	inBubble(t, func(t *testing.T, s *shop) {
		s.work(t, func() {
			pass(13 * day)
			require.Equal(t, 14, s.count())
			s.wall(20 * 365 * day)
			pass(hour)
			assert.Equal(t, 15, s.count(), "one for the step")
			assert.Equal(t, "2", s.kept(t)[0], "one went")
			s.wall(0)
			pass(hour)
			assert.Equal(t, 16, s.count(), "one for the step back")
			assert.Less(t, s.State().Age, hour+time.Second)
			pass(10 * day)
			assert.Equal(t, 26, s.count(), "then one a day again")
			assert.Equal(t, "13", s.kept(t)[0], "the oldest made have gone, not the oldest dated")
			s.wall(-3 * hour)
			pass(day)
			assert.Equal(t, 27, s.count(), "a small step moves nothing within a day by the timer")
			assert.GreaterOrEqual(t, s.State().Age, time.Duration(0))
			s.wall(-6 * hour)
			s.fails(ledger.ErrNoSpace)
			pass(day)
			require.NotEmpty(t, s.State().Problem)
			s.fails(nil)
			pass(10 * time.Minute)
			assert.Equal(t, 28, s.count(), "one that failed stays due, though the clock says that the last is young")
		})
	})
}

func TestAFailureIsToldAndTriedAgain(t *testing.T) {
	for name, c := range map[string]struct {
		err  error
		says string
	}{
		"a full disk":      {ledger.ErrNoSpace, "the disk is full (make room on that disk; the older copies are kept)"},
		"a damaged ledger": {ledger.ErrDamaged, "run boretight check"},
	} {
		t.Run(name, func(t *testing.T) {
			inBubble(t, func(t *testing.T, s *shop) {
				s.work(t, func() {
					s.fails(c.err)
					pass(2 * day)
					state := s.State()
					assert.Contains(t, state.Problem, c.says)
					assert.Equal(t, 1, state.Count, "the good one is kept")
					assert.Equal(t, 2*day, state.Age)
					s.fails(nil)
					pass(10 * time.Minute)
					assert.Empty(t, s.State().Problem)
					assert.Equal(t, 2, s.count())
				})
			})
		})
	}
}

func TestAMissingFolderIsToldAndNotMade(t *testing.T) {
	inBubble(t, func(t *testing.T, s *shop) {
		s.folder = filepath.Join(s.folder, "stick")
		s.work(t, func() {
			assert.Equal(t, "folder of copies "+s.folder+" is not there: plug its disk in or make the folder", s.State().Problem)
			assert.Zero(t, s.State().Newest)
			require.NoDirExists(t, s.folder)
			require.NoError(t, os.Mkdir(s.folder, 0o700))
			pass(10 * time.Minute)
			assert.Empty(t, s.State().Problem)
			assert.Equal(t, 1, s.count())
		})
	})
}

func TestOnlyOwnCopiesAreCountedAndRemoved(t *testing.T) {
	inBubble(t, func(t *testing.T, s *shop) {
		others := []string{
			"ledger-ffffffff-000001-19990101T000000Z.boretight", // of another ledger
			"ledger-1e8a4d27-000001.boretight", "before-the-move.boretight", "letter.txt",
			"ledger-1e8a4d27-x-19990101T000000Z.boretight",
		}
		abandoned := filepath.Join(s.folder, "ledger-1e8a4d27-000001-19990101T000000Z.boretight.part-17")
		for _, name := range append(others, filepath.Base(abandoned)) {
			require.NoError(t, os.WriteFile(filepath.Join(s.folder, name), nil, 0o600))
		}
		long := time.Now().Add(-day)
		require.NoError(t, os.Chtimes(abandoned, long, long))
		s.work(t, func() {
			pass(20 * day)
			assert.Equal(t, 21, s.count())
			assert.Equal(t, copies.Kept, s.State().Count)
		})
		for _, name := range others {
			assert.FileExists(t, filepath.Join(s.folder, name))
		}
		assert.NoFileExists(t, abandoned, "a killed program's part")
	})
}

func TestALineThatNamesNoLedgerIsRefused(t *testing.T) {
	_, err := copies.New(copies.Options{Folder: "x", Line: "short"})
	assert.ErrorContains(t, err, `the ledger's line is "short"`)
}
