package ledger

import (
	"context"
	"time"
)

// Sink is where a [Writer] commits to.
type Sink interface {
	// Commit writes a batch in one durable transaction: all of it or nothing. It is
	// idempotent, so that a batch whose commit ended in doubt may be given again.
	// Holds that another writer has ended meanwhile are left out and named.
	Commit(ctx context.Context, b Batch) (taken []string, err error)
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
