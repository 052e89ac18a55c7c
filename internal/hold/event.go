package hold

import (
	"time"

	"boretight/internal/trace"
)

// EventKind tells the events of a [Finder] apart.
type EventKind uint8

const (
	// PhaseChanged: the phase is another one from T on.
	PhaseChanged EventKind = iota
	// Begun: a draw began. The readings that belong to the hold begin at From.
	Begun
	// Isolated: the joint was shut off at T. It is said 1.2 s after that time, when
	// no further stroke has come; up to 5 s after it when the joint is so tight that
	// a pump might still be holding it.
	Isolated
	// Ended: the hold is complete, and Hold holds it. It comes at the latest 2 s after the vent.
	Ended
)

// Event is one thing a [Finder] found.
type Event struct {
	Kind EventKind
	// Phase at the moment of saying; of a PhaseChanged, the new one.
	Phase Phase
	// T is the time of what happened, on the stream's clock; not when it was noticed.
	T time.Duration
	// From, with Begun, is the time of the first reading that belongs to the hold.
	From time.Duration
	// Readings, with Begun, are those from then on up to now. They are shared: not to be changed.
	Readings []trace.Reading
	// Hold, with Ended, is the complete hold.
	Hold *Hold
}
