package ledger_test

import (
	"context"
	"errors"
	"maps"
	"math"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/ledger"
	"boretight/internal/ledger/ledgertest"
	"boretight/internal/trace"
	"boretight/internal/trial"
)

var errDisk = errors.New("the disk does not answer")

// memory is a sink that can be made to fail, to wait and to refuse.
type memory struct {
	mu          sync.Mutex
	fail        error
	refuse      map[string]error
	commits     int
	steps       []ledger.Step
	gate        chan struct{} // commits wait until it is closed
	open        []ledger.OpenHold
	interrupted []string
	left        bool
}

func (m *memory) Commit(ctx context.Context, b ledger.Batch) (map[string]error, error) {
	if m.gate != nil {
		<-m.gate
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.commits++
	if m.fail != nil {
		return nil, m.fail
	}
	m.steps = append(m.steps, b.Steps...)
	return maps.Clone(m.refuse), nil
}

func (m *memory) Abandoned(context.Context, string) ([]ledger.OpenHold, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return append([]ledger.OpenHold(nil), m.open...), nil
}

func (m *memory) Interrupt(_ context.Context, h ledger.OpenHold, _ time.Time) (bool, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.interrupted = append(m.interrupted, h.ID)
	return true, nil
}

func (m *memory) Leave(context.Context, string) error {
	m.left = true
	return nil
}

func (m *memory) set(err error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.fail = err
}

// blocks and end of all that was committed; all holds together.
func (m *memory) kept() (blocks []ledger.Block, end *ledger.End) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, s := range m.steps {
		if s.Block != nil {
			blocks = append(blocks, *s.Block)
		}
		if s.End != nil {
			end = s.End
		}
	}
	return blocks, end
}

// running runs f beside a running writer in a bubble of its own time.
func running(t *testing.T, m *memory, f func(t *testing.T, w *ledger.Writer, stop func() error)) {
	synctest.Test(t, func(t *testing.T) {
		w := ledger.NewWriter(m, ledger.WriterOptions{})
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan error, 1)
		go func() { done <- w.Run(ctx) }()
		stop := sync.OnceValue(func() error { cancel(); return <-done })
		defer func() { _ = stop() }() // also when f gives up: a bubble waits for all its goroutines
		f(t, w, stop)
	})
}

// feed appends readings of 100 Hz for a time, as they would come.
func feed(w *ledger.Writer, id string, from int, d time.Duration) (n, refused int) {
	for ; time.Duration(n)*10*time.Millisecond < d; n += 5 {
		if w.AppendReadings(id, ledgertest.Readings(from+n, 5, 100)) != nil {
			refused += 5
		}
		time.Sleep(50 * time.Millisecond)
	}
	return n, refused
}

func TestReadingsAreOnTheDiskWithinATick(t *testing.T) {
	m := &memory{}
	running(t, m, func(t *testing.T, w *ledger.Writer, stop func() error) {
		b := ledgertest.Begin("north")
		require.NoError(t, w.BeginHold(b))
		for k := range 100 {
			n, _ := feed(w, b.ID, 10*k, 100*time.Millisecond)
			require.Equal(t, 10, n)
			s := w.State()
			assert.LessOrEqual(t, s.Lag, ledger.Tick+100*time.Millisecond)
			assert.LessOrEqual(t, s.Queued, 30)
		}
		r, err := w.EndHold(b.ID, ledgertest.Outcome(trial.Pass, 2))
		require.NoError(t, err)
		require.NoError(t, r.Wait(t.Context()))
		assert.Zero(t, w.State())

		blocks, end := m.kept()
		for _, bl := range blocks {
			rs, err := bl.Readings()
			require.NoError(t, err)
			assert.Less(t, rs[len(rs)-1].T-rs[0].T, ledger.BlockSpan)
		}
		rs, err := ledger.Join(b.ID, blocks, end)
		require.NoError(t, err)
		ledgertest.Same(t, ledgertest.Readings(0, 1000, 100), rs)
	})
	assert.True(t, m.left)
}

func TestReadingsBeforeTheDrawAreCutIntoBlocks(t *testing.T) {
	m := &memory{}
	running(t, m, func(t *testing.T, w *ledger.Writer, stop func() error) {
		b := ledgertest.Begin("north")
		require.NoError(t, w.BeginHold(b))
		require.NoError(t, w.AppendReadings(b.ID, ledgertest.Readings(0, 1000, 100)))
		require.NoError(t, stop())
		blocks, _ := m.kept()
		assert.Len(t, blocks, 40)
	})
}

func TestAShortTroubleOfTheDiskLosesNothing(t *testing.T) {
	m := &memory{}
	running(t, m, func(t *testing.T, w *ledger.Writer, stop func() error) {
		b := ledgertest.Begin("north")
		require.NoError(t, w.BeginHold(b))
		n, _ := feed(w, b.ID, 0, time.Second)
		m.set(errDisk)
		more, refused := feed(w, b.ID, n, 9*time.Second)
		assert.Zero(t, refused)
		s := w.State()
		require.ErrorIs(t, s.Err, errDisk)
		assert.Greater(t, s.Lag, 8*time.Second)
		assert.False(t, s.Since.IsZero())

		m.set(nil)
		r, err := w.EndHold(b.ID, ledgertest.Outcome(trial.Pass, 2))
		require.NoError(t, err)
		require.NoError(t, r.Wait(t.Context()))
		assert.Zero(t, w.State())
		blocks, end := m.kept()
		rs, err := ledger.Join(b.ID, blocks, end)
		require.NoError(t, err)
		assert.Len(t, rs, n+more)
		assert.Zero(t, end.LostReadings)
	})
}

func TestAFullQueueIsSaidInTheEndRecord(t *testing.T) {
	m := &memory{}
	running(t, m, func(t *testing.T, w *ledger.Writer, stop func() error) {
		b := ledgertest.Begin("north")
		require.NoError(t, w.BeginHold(b))
		m.set(errDisk)
		first, lost := feed(w, b.ID, 0, 15*time.Second)
		assert.InDelta(t, 500, lost, 30)
		require.ErrorIs(t, w.AppendReadings(b.ID, ledgertest.Readings(first, 5, 100)), ledger.ErrOverflow)
		m.set(nil)
		time.Sleep(time.Second)
		second, refused := feed(w, b.ID, first+5, time.Second)
		assert.Zero(t, refused)
		r, err := w.EndHold(b.ID, ledgertest.Outcome(trial.Pass, 2))
		require.NoError(t, err)
		require.NoError(t, r.Wait(t.Context()))

		blocks, end := m.kept()
		rs, err := ledger.Join(b.ID, blocks, end)
		require.NoError(t, err)
		assert.EqualValues(t, lost+5, end.LostReadings)
		assert.EqualValues(t, 1, end.Gaps)
		assert.Len(t, rs, first+second-lost)
		assert.EqualValues(t, lost+5, w.State().Lost)
	})
}

func TestTheAcquisitionNeverWaitsForTheDisk(t *testing.T) {
	m := &memory{}
	running(t, m, func(t *testing.T, w *ledger.Writer, stop func() error) {
		m.gate = make(chan struct{}) // of the bubble's own, before the first commit
		b := ledgertest.Begin("north")
		start := time.Now()
		require.NoError(t, w.BeginHold(b))
		time.Sleep(2 * ledger.Tick) // the writer waits in a commit
		require.NoError(t, w.AppendReadings(b.ID, ledgertest.Readings(0, 100, 100)))
		r, err := w.EndHold(b.ID, ledgertest.Outcome(trial.Pass, 2))
		require.NoError(t, err)
		assert.Equal(t, 2*ledger.Tick, time.Since(start))
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		require.ErrorIs(t, r.Wait(ctx), context.DeadlineExceeded)
		assert.Greater(t, w.State().Lag, ledger.LagWarning)
		close(m.gate)
		require.NoError(t, r.Wait(t.Context()))
	})
}

func TestAHoldStillOpenAtTheEndIsInterrupted(t *testing.T) {
	m := &memory{}
	running(t, m, func(t *testing.T, w *ledger.Writer, stop func() error) {
		b := ledgertest.Begin("north")
		require.NoError(t, w.BeginHold(b))
		require.NoError(t, w.AppendReadings(b.ID, ledgertest.Readings(0, 100, 100)))
		require.NoError(t, stop())
		blocks, end := m.kept()
		require.NotNil(t, end)
		assert.True(t, end.Interrupted)
		rs, err := ledger.Join(b.ID, blocks, end)
		require.NoError(t, err)
		assert.Len(t, rs, 100)

		require.ErrorIs(t, w.BeginHold(ledgertest.Begin("north")), ledger.ErrClosed)
		require.ErrorIs(t, w.AppendReadings(b.ID, nil), ledger.ErrClosed)
		_, err = w.EndHold(b.ID, trial.Outcome{})
		require.ErrorIs(t, err, ledger.ErrClosed)
	})
}

func TestWhatCannotBeWrittenAtTheEndIsSaid(t *testing.T) {
	m := &memory{fail: errDisk}
	running(t, m, func(t *testing.T, w *ledger.Writer, stop func() error) {
		b := ledgertest.Begin("north")
		require.NoError(t, w.BeginHold(b))
		require.NoError(t, w.AppendReadings(b.ID, ledgertest.Readings(0, 100, 100)))
		r, err := w.EndHold(b.ID, trial.Outcome{})
		require.NoError(t, err)
		err = stop()
		require.ErrorIs(t, err, errDisk)
		assert.ErrorContains(t, err, "100 readings are not on the disk")
		require.ErrorIs(t, r.Wait(t.Context()), ledger.ErrClosed)
	})
}

func TestTheBeatGoesOnWhileAHoldIsOpen(t *testing.T) {
	m := &memory{}
	running(t, m, func(t *testing.T, w *ledger.Writer, stop func() error) {
		time.Sleep(time.Minute)
		assert.Zero(t, m.commits, "an idle bench leaves the disk alone")
		b := ledgertest.Begin("north")
		require.NoError(t, w.BeginHold(b))
		time.Sleep(10 * ledger.Tick)
		synctest.Wait()
		assert.InDelta(t, 10, m.commits, 1)
	})
}

func TestOnlyADeadWritersHoldIsEnded(t *testing.T) {
	m := &memory{open: []ledger.OpenHold{{ID: "dead", Writer: "a", Beat: 7}, {ID: "alive", Writer: "b"}}}
	running(t, m, func(t *testing.T, w *ledger.Writer, stop func() error) {
		for range 100 {
			time.Sleep(ledger.Tick)
			m.mu.Lock()
			m.open[1].Beat++
			if len(m.interrupted) > 0 && len(m.open) == 2 {
				m.open[0] = m.open[1]
			}
			m.mu.Unlock()
		}
		assert.Equal(t, []string{"dead"}, m.interrupted)
	})
}

func TestARefusedHoldIsTold(t *testing.T) {
	b := ledgertest.Begin("north")
	m := &memory{refuse: map[string]error{b.ID: ledger.ErrInterrupted}}
	running(t, m, func(t *testing.T, w *ledger.Writer, stop func() error) {
		require.NoError(t, w.BeginHold(b))
		time.Sleep(2 * ledger.Tick)
		synctest.Wait()
		require.ErrorIs(t, w.AppendReadings(b.ID, ledgertest.Readings(0, 1, 1)), ledger.ErrInterrupted)
		_, err := w.EndHold(b.ID, trial.Outcome{})
		require.ErrorIs(t, err, ledger.ErrInterrupted)
		assert.Zero(t, w.State().Open)
	})
}

func TestTheWriterRefusesMistakes(t *testing.T) {
	w := ledger.NewWriter(&memory{}, ledger.WriterOptions{})
	b := ledgertest.Begin("north")
	b.ID = "17"
	require.ErrorContains(t, w.BeginHold(b), "not a UUID")
	b = ledgertest.Begin("north")
	b.Setup = []byte("{")
	require.Error(t, w.BeginHold(b))
	b.Setup = nil
	require.NoError(t, w.BeginHold(b))
	require.ErrorIs(t, w.BeginHold(b), ledger.ErrInUse)
	require.ErrorIs(t, w.AppendReadings(ledger.NewID(), nil), ledger.ErrNotOpen)
	_, err := w.EndHold(b.ID, trial.Outcome{At: math.NaN()})
	require.Error(t, err, "no NaN in a record")
	assert.Equal(t, 1, w.State().Open, "the hold can still be ended")
}

func TestObserverSeesEachCommit(t *testing.T) {
	m := &memory{}
	synctest.Test(t, func(t *testing.T) {
		var seen []ledger.Commit
		w := ledger.NewWriter(m, ledger.WriterOptions{Observe: func(c ledger.Commit) { seen = append(seen, c) }})
		b := ledgertest.Begin("north")
		require.NoError(t, w.BeginHold(b))
		require.NoError(t, w.AppendReadings(b.ID, []trace.Reading{{}}))
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		require.NoError(t, w.Run(ctx))
		assert.Equal(t, []ledger.Commit{{Blocks: 1, Records: 2}}, seen)
	})
}
