package ledger

import "errors"

// Errors that a caller may act on. Those of opening say in their wrapping what to do.
var (
	// ErrNewer is returned when the ledger was written by a newer program.
	ErrNewer = errors.New("the ledger is of a newer schema than this program knows")
	// ErrNotLedger is returned when the file is something else.
	ErrNotLedger = errors.New("not a ledger")
	// ErrReadOnly is returned when the file or its folder cannot be written.
	ErrReadOnly = errors.New("the ledger is read-only")
	// ErrLocked is returned when another program keeps the file locked.
	ErrLocked = errors.New("the ledger is locked by another program")
	// ErrNoSpace is returned when the disk is full.
	ErrNoSpace = errors.New("the disk is full")
	// ErrDamaged is returned when the file's own structure is broken.
	ErrDamaged = errors.New("the ledger's file is damaged")
	// ErrClock is returned when a change would not count, as the one before it was recorded later
	// by the clock of then.
	ErrClock = errors.New("the computer's clock is before the last change")
	// ErrNotFound is returned when there is no such hold, trial, ticket, instrument,
	// customer or text.
	ErrNotFound = errors.New("not in the ledger")
	// ErrAmbiguous is returned when several things begin with a prefix.
	ErrAmbiguous = errors.New("several begin with that")
	// ErrInterrupted is returned when another writer took this one for dead and
	// ended its hold.
	ErrInterrupted = errors.New("the hold was ended as interrupted")
	// ErrInUse is returned when a new hold has the identity of an older one.
	ErrInUse = errors.New("the identity is in use")
	// ErrNotOpen is returned when a hold was not begun, or has ended.
	ErrNotOpen = errors.New("the hold is not open")
	// ErrOverflow is returned when readings were not taken because the queue is full.
	ErrOverflow = errors.New("the ledger's queue is full")
	// ErrClosed is returned when the writer does not run any more.
	ErrClosed = errors.New("the ledger's writer has stopped")
)
