package hold

import "boretight/internal/trace"

// Finder finds the holds in one stream of readings. The zero value is not
// ready; use [NewFinder]. A Finder is for one goroutine.
type Finder struct {
	kind trace.Kind
}

// NewFinder returns a finder for a stream of readings of the given kind.
func NewFinder(kind trace.Kind) *Finder { return &Finder{kind: kind} }

// Push takes the next reading and returns what it showed; mostly nothing. The
// returned slice is valid until the next call.
func (f *Finder) Push(r trace.Reading) []Event { return nil }

// Phase returns where the stream is now.
func (f *Finder) Phase() Phase { return Rest }

// Partial returns the hold in progress as if it were cut now, or nil when the
// joint is not isolated. It is what a running estimate is made from.
func (f *Finder) Partial() *Hold { return nil }

// Close ends the stream: a hold in progress ends as [Cut].
func (f *Finder) Close() []Event { return nil }

// Find returns all holds of a recorded trace, by the same code as a live stream.
func Find(tr trace.Trace) []*Hold { return nil }
