package ledger

import (
	"context"
	"log/slog"
	"sync"
	"time"

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
	mu sync.Mutex
}

// NewWriter returns a writer to the sink. It does nothing until [Writer.Run].
func NewWriter(sink Sink, o WriterOptions) *Writer { return &Writer{} }

// Run commits until ctx ends; then it ends holds still open as interrupted, commits
// what is left and returns. It also ends the interrupted holds of writers that are
// gone. It returns an error only if something is left that could not be committed.
func (w *Writer) Run(ctx context.Context) error { return nil }

// BeginHold begins a hold. Its identity must be a new UUID.
func (w *Writer) BeginHold(b Begin) error { return nil }

// AppendReadings adds readings to an open hold. After [ErrOverflow] the readings
// are lost and the hold is marked incomplete; go on appending.
func (w *Writer) AppendReadings(id string, rs []trace.Reading) error { return nil }

// EndHold ends a hold with its outcome. The receipt tells when the end is on the disk.
func (w *Writer) EndHold(id string, o trial.Outcome) (*Receipt, error) { return nil, nil }

// State returns how the writer fares.
func (w *Writer) State() State { return State{} }
