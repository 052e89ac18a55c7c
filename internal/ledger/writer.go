package ledger

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"github.com/google/uuid"

	"boretight/internal/trace"
	"boretight/internal/trial"
)

const (
	// Tick is the time between two commits. With blocks of a tick, a commit and a
	// margin for a slow disk, a kill loses less than the last second.
	Tick = 200 * time.Millisecond
	// Lease is how long a writer's beat may stand still before others take it for dead.
	Lease = 2 * time.Second
	// QueueTime is how long readings are kept while the disk does not answer.
	QueueTime = 10 * time.Second
	// flushTime is how long Run goes on trying after its context has ended.
	flushTime = 5 * time.Second
)

// WriterOptions are what a writer may be given; the zero value will do.
type WriterOptions struct {
	// Observe, if not nil, is called after each attempt to commit, by the goroutine of Run.
	Observe func(Commit)
	// Log is for what an operator would act on; nil discards.
	Log *slog.Logger
}

// Writer takes holds as they are measured and commits them. Its methods never wait
// for the disk.
type Writer struct {
	id      string
	sink    Sink
	observe func(Commit)
	log     *slog.Logger
	// wake makes Run commit now; it holds at most one wish.
	wake chan struct{}

	mu     sync.Mutex // guards all below; never held during a commit
	queue  *queue
	closed bool
	err    error
	since  time.Time
}

// NewWriter returns a writer to the sink. It does nothing until [Writer.Run].
func NewWriter(sink Sink, o WriterOptions) *Writer {
	w := &Writer{
		id: NewID(), sink: sink, observe: o.Observe, log: o.Log,
		wake: make(chan struct{}, 1), queue: newQueue(),
	}
	if w.observe == nil {
		w.observe = func(Commit) {}
	}
	if w.log == nil {
		w.log = slog.New(slog.DiscardHandler)
	}
	return w
}

// BeginHold begins a hold. Its identity must be a new UUID.
func (w *Writer) BeginHold(b Begin) error {
	if u, err := uuid.Parse(b.ID); err != nil || u.String() != b.ID {
		return fmt.Errorf("begin hold: identity %q is not a UUID in lower case", b.ID)
	}
	b.Writer = w.id
	if _, err := Canonical(b); err != nil {
		return fmt.Errorf("begin hold %s: %w", b.ID, err)
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	switch {
	case w.closed:
		return fmt.Errorf("begin hold %s: %w", b.ID, ErrClosed)
	case w.queue.open[b.ID] != nil:
		return fmt.Errorf("begin hold %s: %w", b.ID, ErrInUse)
	}
	w.queue.begin(b, time.Now())
	return nil
}

// AppendReadings adds readings to an open hold; the slice may be reused. After
// [ErrOverflow] these readings are lost and the hold is marked incomplete; go on
// appending, there may be room again.
func (w *Writer) AppendReadings(id string, rs []trace.Reading) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	h, err := w.lookup(id)
	if err != nil {
		return fmt.Errorf("append readings to hold %s: %w", id, err)
	}
	return w.queue.add(h, rs, time.Now())
}

// EndHold ends a hold with its outcome. The receipt tells when the end is on the
// disk. An outcome that cannot be written as JSON leaves the hold open.
func (w *Writer) EndHold(id string, o trial.Outcome) (*Receipt, error) {
	outcome, err := Canonical(o)
	if err != nil {
		return nil, fmt.Errorf("end hold %s: %w", id, err)
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	h, err := w.lookup(id)
	if err != nil {
		delete(w.queue.open, id)
		return nil, fmt.Errorf("end hold %s: %w", id, err)
	}
	r := w.queue.end(h, outcome, o.Parts, time.Now())
	select {
	case w.wake <- struct{}{}:
	default:
	}
	return r, nil
}

// lookup returns an open hold that may be written to.
func (w *Writer) lookup(id string) (*openHold, error) {
	h := w.queue.open[id]
	switch {
	case w.closed:
		return nil, ErrClosed
	case h == nil:
		return nil, ErrNotOpen
	}
	return h, h.refused
}

// State returns how the writer fares.
func (w *Writer) State() State {
	w.mu.Lock()
	defer w.mu.Unlock()
	return State{
		Lag: w.queue.lag(time.Now()), Queued: w.queue.readings, Open: len(w.queue.open),
		Lost: w.queue.lost, Err: w.err, Since: w.since,
	}
}

// Run commits until ctx ends; then it ends holds still open as interrupted, commits
// what is left and returns. It also ends the interrupted holds of writers that are
// gone. It returns an error only if something is left that could not be committed.
func (w *Writer) Run(ctx context.Context) error {
	work := context.WithoutCancel(ctx) // a commit is finished, not broken off
	tick, sweep := time.NewTicker(Tick), time.NewTicker(Lease/4)
	defer tick.Stop()
	defer sweep.Stop()
	var watch Watch
	w.sweep(work, &watch)
	for {
		select {
		case <-ctx.Done():
			return w.finish(work)
		case <-sweep.C:
			w.sweep(work, &watch)
		case <-tick.C:
			w.commit(work)
		case <-w.wake:
			w.commit(work)
		}
	}
}

// finish ends what is open and commits for at most flushTime.
func (w *Writer) finish(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, flushTime)
	defer cancel()
	w.mu.Lock()
	w.closed = true
	for _, h := range w.queue.open {
		w.queue.end(h, nil, nil, time.Now())
	}
	w.mu.Unlock()
	for {
		err := w.commit(ctx)
		if err == nil {
			return w.sink.Leave(ctx, w.id)
		}
		select {
		case <-time.After(Tick):
		case <-ctx.Done():
			w.mu.Lock()
			defer w.mu.Unlock()
			n := w.queue.readings
			w.queue.abandon(errors.Join(ErrClosed, err))
			return fmt.Errorf("close the ledger's writer: %d readings are not on the disk: %w", n, err)
		}
	}
}

// commit makes one attempt to write all that waits. While a hold is open it
// commits even when nothing waits: the beat says that the writer lives.
func (w *Writer) commit(ctx context.Context) error {
	w.mu.Lock()
	steps := w.queue.closeAll()
	idle := len(steps) == 0 && len(w.queue.open) == 0
	w.mu.Unlock()
	if idle {
		return nil
	}
	start := time.Now()
	refused, err := w.sink.Commit(ctx, Batch{Writer: w.id, At: start, Steps: steps})
	c := Commit{Duration: time.Since(start), Err: err}
	for _, s := range steps {
		if s.Block != nil {
			c.Blocks++
		} else {
			c.Records++
		}
	}
	w.settle(len(steps), refused, err)
	w.observe(c)
	return err
}

// settle notes what became of the first n items.
func (w *Writer) settle(n int, refused map[string]error, err error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	switch {
	case err != nil && w.err == nil:
		w.since = time.Now()
		w.log.Error("ledger does not take what is measured; it is kept in memory for a few seconds", "error", err)
	case err == nil && w.err != nil:
		w.log.Info("ledger takes what is measured again", "trouble_s", time.Since(w.since).Seconds())
		w.since = time.Time{}
	}
	w.err = err
	if err == nil {
		w.queue.committed(n, refused)
	}
}

// sweep ends the holds of writers that are gone.
func (w *Writer) sweep(ctx context.Context, watch *Watch) {
	holds, err := w.sink.Abandoned(ctx, w.id)
	if err != nil {
		w.log.Warn("cannot look for interrupted holds", "error", err)
		return
	}
	for _, h := range watch.Dead(holds, time.Now()) {
		done, err := w.sink.Interrupt(ctx, h, time.Now())
		switch {
		case err != nil:
			w.log.Warn("cannot end an interrupted hold", "hold", h.ID, "error", err)
		case done:
			w.log.Info("ended an interrupted hold", "hold", h.ID)
		}
	}
}
