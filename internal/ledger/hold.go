package ledger

import (
	"encoding/json"
	"fmt"
	"time"

	"boretight/internal/hold"
	"boretight/internal/trace"
	"boretight/internal/trial"
)

// Begin is what is known when a hold begins.
type Begin struct {
	// ID is a UUID; [NewID] makes one.
	ID    string     `json:"hold"`
	Gauge string     `json:"gauge"`
	Kind  trace.Kind `json:"-"` // written as "gauge" or "absolute"
	Bench string     `json:"bench,omitempty"`
	// Instrument is the template's name, Joint and Section are names within it.
	Instrument string `json:"instrument,omitempty"`
	Joint      string `json:"joint,omitempty"`
	Section    string `json:"section,omitempty"`
	// Closure is what was plugged, taped or pressed.
	Closure string `json:"closure,omitempty"`
	// When is "as_found", "as_left" or empty.
	When string `json:"when,omitempty"`
	// Ticket is the ticket's identity.
	Ticket string `json:"ticket,omitempty"`
	// Writer is the identity of the writer; [Writer.BeginHold] fills it in.
	Writer string `json:"writer,omitempty"`
	// Setup is what was told to the fit, so that the fit can be made again.
	Setup json.RawMessage `json:"setup,omitempty"`
	// Started is the UTC time of the draw; whole microseconds are kept.
	Started time.Time `json:"started"`
}

// beginContent is Begin with its pressure kind as a word.
type beginContent struct {
	beginFields
	KindWord string `json:"kind"`
}

type beginFields Begin

// MarshalJSON writes the content of a hold-begin record.
func (b Begin) MarshalJSON() ([]byte, error) {
	b.Started = b.Started.UTC().Truncate(time.Microsecond)
	return json.Marshal(beginContent{beginFields(b), b.Kind.String()})
}

// UnmarshalJSON reads the content of a hold-begin record.
func (b *Begin) UnmarshalJSON(text []byte) error {
	var c beginContent
	if err := json.Unmarshal(text, &c); err != nil {
		return err
	}
	*b = Begin(c.beginFields)
	switch c.KindWord {
	case trace.Gauge.String():
		b.Kind = trace.Gauge
	case trace.Absolute.String():
		b.Kind = trace.Absolute
	default:
		return fmt.Errorf("kind of pressure %q, want %q or %q", c.KindWord, trace.Gauge, trace.Absolute)
	}
	return nil
}

// End is what is known when a hold is over.
type End struct {
	ID string `json:"hold"`
	// Readings is the number kept and SHA256 the hash of their bytes, in order.
	Readings int64  `json:"readings"`
	SHA256   Digest `json:"sha256"`
	// LostReadings is the number that the queue could not take while the disk did
	// not answer, Gaps the number of stretches they are missing from: with either,
	// the hold is incomplete.
	LostReadings int64 `json:"lost_readings,omitempty"`
	Gaps         int64 `json:"gaps,omitempty"`
	// Interrupted marks a hold whose writer went away; it has no outcome.
	Interrupted bool      `json:"interrupted,omitempty"`
	Ended       time.Time `json:"ended"` // UTC, whole microseconds
	// Outcome is the result as JSON, see [End.Judged].
	Outcome json.RawMessage `json:"outcome,omitempty"`
	// Parts say where in the readings the hold lies that was fitted, so that the fit can be
	// made again; nil when none was, and in records of before they were kept.
	Parts *hold.Parts `json:"parts,omitempty"`
}

// Judged returns the outcome; the zero Outcome when there is none.
func (e End) Judged() (trial.Outcome, error) {
	var o trial.Outcome
	if len(e.Outcome) == 0 {
		return o, nil
	}
	if err := json.Unmarshal(e.Outcome, &o); err != nil {
		return o, fmt.Errorf("read outcome of hold %s: %w", e.ID, err)
	}
	return o, nil
}

// Hold is all that a ledger keeps of one hold.
type Hold struct {
	Begin Begin
	// End is nil while the hold is open.
	End *End
	// Voided tells that the hold was set aside, VoidedAt when it last was, and VoidReason why;
	// that is empty when it was erased.
	Voided     bool
	VoidedAt   time.Time
	VoidReason string
	// Trace holds the readings kept.
	Trace trace.Trace
	// BeginRecord and EndRecord are the records themselves; EndRecord is nil while
	// the hold is open.
	BeginRecord Record
	EndRecord   *Record
}
