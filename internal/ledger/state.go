package ledger

import (
	"context"
	"time"
)

// State is how a writer fares.
type State struct {
	// Lag is the age of the oldest reading or record that is not on the disk yet;
	// over [LagWarning] it should be said.
	Lag time.Duration
	// Queued is the number of readings not on the disk yet.
	Queued int
	// Open is the number of holds being written.
	Open int
	// Lost is the number of readings that the full queue could not take, ever.
	Lost int64
	// Err is why the last commit did not succeed; nil when it did.
	Err error
	// Since is when the trouble began; zero when there is none.
	Since time.Time
}

// LagWarning is the lag from which on people should be told.
const LagWarning = time.Second

// Commit tells how one attempt to commit went.
type Commit struct {
	Duration time.Duration
	Blocks   int
	Records  int
	Err      error
}

// Receipt tells when something handed to a writer is on the disk.
type Receipt struct {
	done chan struct{}
	err  error // set before done is closed
}

func newReceipt() *Receipt { return &Receipt{done: make(chan struct{})} }

func (r *Receipt) settle(err error) {
	r.err = err
	close(r.done)
}

// Done is closed when the matter is settled.
func (r *Receipt) Done() <-chan struct{} { return r.done }

// Err returns nil if it is on the disk. It may be asked only after Done is closed.
func (r *Receipt) Err() error { return r.err }

// Wait returns when it is on the disk, will never be, or ctx ends.
func (r *Receipt) Wait(ctx context.Context) error {
	select {
	case <-r.done:
		return r.err
	case <-ctx.Done():
		return context.Cause(ctx)
	}
}
