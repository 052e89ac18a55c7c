package bench

import (
	"context"
	"time"

	"boretight/internal/trace"
	"boretight/internal/trial"
)

// Recorder keeps holds, so that none is ever lost. Its methods are called in this
// order for each hold, from one goroutine a gauge: begin, readings any number of
// times, end.
type Recorder interface {
	// BeginHold opens a hold.
	BeginHold(ctx context.Context, b Begin) error
	// AppendReadings adds readings to a hold. It may return before they are on
	// disk, but must not keep the slice.
	AppendReadings(ctx context.Context, id string, readings []trace.Reading) error
	// EndHold ends a hold; it returns when all of the hold is committed.
	EndHold(ctx context.Context, e End) error
}

// Begin says what hold begins.
type Begin struct {
	ID    string
	Gauge string
	// Serial is the gauge's serial number, empty where it gives none.
	Serial string
	// Kind says what the readings are measured against.
	Kind trace.Kind
	// Setup is what the bench measures.
	Setup Setup
	// At is the wall time of the beginning, UTC.
	At time.Time
}

// End says how a hold ended.
type End struct {
	ID string
	// Outcome is what the hold says; nil for one that turned out to be no draw.
	Outcome *trial.Outcome
	// At is the wall time of the end, UTC.
	At time.Time
}
