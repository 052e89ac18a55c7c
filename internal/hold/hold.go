package hold

import (
	"fmt"
	"time"

	"boretight/internal/trace"
)

// Sign is the sign of the test pressure: bore minus ambient.
type Sign int8

const (
	// Suction means that the bore is below ambient; it pulls pads shut.
	Suction Sign = -1
	// Pressure means that the bore is above ambient; it lifts pads.
	Pressure Sign = +1
)

// String returns "suction" or "pressure".
func (s Sign) String() string {
	if s == Pressure {
		return "pressure"
	}
	return "suction"
}

// Float returns -1 or +1, the factor from Δp to bore minus ambient.
func (s Sign) Float() float64 { return float64(s) }

// Phase is where a gauge is in the cycle of a hold.
type Phase uint8

const (
	// Rest is before a draw: the bore is at ambient pressure.
	Rest Phase = iota
	// Drawing is while the difference is being made, pauses between strokes included.
	Drawing
	// Settling is after the draw has stopped, until it is certain that no further stroke comes.
	Settling
	// Holding is the isolated joint, left alone.
	Holding
	// Venting is after the hold: the rest that gives the zero a second time.
	Venting
)

var phaseNames = [...]string{"rest", "drawing", "settling", "holding", "venting"}

// String returns the phase in one lower-case word.
func (p Phase) String() string {
	if int(p) < len(phaseNames) {
		return phaseNames[p]
	}
	return fmt.Sprintf("phase %d", p)
}

// MarshalText writes the word of [Phase.String].
func (p Phase) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// Ending says why a hold ended.
type Ending uint8

const (
	// Vented: the difference was let out.
	Vented Ending = iota
	// Exhausted: the difference leaked away by itself.
	Exhausted
	// Redrawn: a new draw began without a vent.
	Redrawn
	// Cut: the readings ended, or a gap in them was too long to bridge.
	Cut
)

var endingNames = [...]string{"vented", "exhausted", "redrawn", "cut"}

// String returns the ending in one lower-case word.
func (e Ending) String() string {
	if int(e) < len(endingNames) {
		return endingNames[e]
	}
	return fmt.Sprintf("ending %d", e)
}

// MarshalText writes the word of [Ending.String].
func (e Ending) MarshalText() ([]byte, error) { return []byte(e.String()), nil }

// Span is a half-open range [From, To) of indices into the readings of a hold.
type Span struct{ From, To int }

// Len returns the number of readings in the span.
func (s Span) Len() int { return max(0, s.To-s.From) }

// Hold is one cycle of rest, draw, hold and vent as the [Finder] cut it from a
// stream. It may share its readings with the finder; neither changes them.
type Hold struct {
	// Kind is what the pressures are measured against.
	Kind trace.Kind
	// Sign of the test pressure.
	Sign Sign
	// Readings from the rest before the draw (at most 10 s of it) to the rest
	// after the vent (at most 2 s of it), as the gauge gave them.
	Readings []trace.Reading
	// Before is the quiet rest before the draw, which gives the zero.
	Before Span
	// Draw is the first reading of the draw.
	Draw int
	// Held is the isolated stretch: from the first reading after isolation to
	// the last before the vent. Empty when the joint was never isolated.
	Held Span
	// After is the rest after the vent; empty when there is none.
	After Span
	// Isolation is the time of isolation in seconds on the stream's clock, found
	// between readings where these allow it. NaN when never isolated.
	Isolation float64
	// Ending says why the hold ended.
	Ending Ending
	// Interval is the time between readings in seconds, the median.
	Interval float64
	// Lost is the number of readings missing within Held, from gaps in time.
	Lost int
	// Unusable is the number of readings within Held that the gauge itself
	// called saturated or faulty.
	Unusable int
	// Saturated is how many of the unusable were saturated.
	Saturated int
	// Clipped is the number of saturated readings in the draw. With more than a few
	// the moment of isolation may lie among them, and what the air did is unknown.
	Clipped int
	// RestLevel is the median pressure of Before, in Pa.
	RestLevel float64
	// Noise is the standard deviation of a single reading about its neighbours
	// at rest, in Pa; never 0.
	Noise float64
}

// Isolated reports whether the joint was ever shut off.
func (h *Hold) Isolated() bool { return h.Held.Len() > 0 }

// Start and end of the held stretch in seconds on the stream's clock.
func (h *Hold) bounds() (from, to float64) {
	if !h.Isolated() {
		return 0, 0
	}
	return h.Isolation, h.Readings[h.Held.To-1].Seconds()
}

// Duration returns the length of the held stretch.
func (h *Hold) Duration() time.Duration {
	from, to := h.bounds()
	return time.Duration((to - from) * float64(time.Second))
}

// Delta returns the test pressure difference Δp of reading i in Pa against the
// level at rest before the draw: positive while the difference has the hold's sign.
func (h *Hold) Delta(i int) float64 {
	return h.Sign.Float() * (h.Readings[i].Pressure - h.RestLevel)
}

// MarshalText makes the sign a word in JSON.
func (s Sign) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads "suction" or "pressure".
func (s *Sign) UnmarshalText(b []byte) error {
	switch string(b) {
	case "suction":
		*s = Suction
	case "pressure":
		*s = Pressure
	default:
		return fmt.Errorf("read sign of a hold: found %q, want suction or pressure", b)
	}
	return nil
}

// Usable reports whether reading i has a value that may be used.
func (h *Hold) Usable(i int) bool { return usable(h.Readings[i]) }
