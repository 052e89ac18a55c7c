package ledger

import (
	"context"
	"time"
)

// Sink is where a [Writer] commits to.
type Sink interface {
	// Commit writes a batch in one durable transaction: all of it or nothing. It is
	// idempotent, so that a batch whose commit ended in doubt may be given again.
	// A hold that cannot be written to is left out and named with the reason: it was
	// ended by another writer (ErrInterrupted), or its identity is in use (ErrInUse).
	Commit(ctx context.Context, b Batch) (refused map[string]error, err error)
	// Abandoned returns the open holds of other writers with the beat of each.
	Abandoned(ctx context.Context, writer string) ([]OpenHold, error)
	// Interrupt ends a hold as interrupted with what is there of it, unless its
	// writer's beat has moved since; it reports whether it did.
	Interrupt(ctx context.Context, h OpenHold, at time.Time) (bool, error)
	// Leave forgets a writer that has no open holds.
	Leave(ctx context.Context, writer string) error
}

// OpenHold is a hold without an end, and how far its writer's counter has come.
type OpenHold struct {
	ID     string
	Writer string
	Beat   int64
}

// Batch is what one tick commits.
type Batch struct {
	// Writer is the identity of the writer, whose beat the commit advances.
	Writer string
	At     time.Time
	// Steps in the order in which they were made.
	Steps []Step
}

// Step is one of a begin, a block or an end; exactly one field is set.
type Step struct {
	Begin *Begin
	Block *Block
	End   *End
}

// Hold returns the identity of the hold that the step belongs to.
func (s Step) Hold() string {
	switch {
	case s.Begin != nil:
		return s.Begin.ID
	case s.Block != nil:
		return s.Block.Hold
	case s.End != nil:
		return s.End.ID
	}
	return ""
}
