package rig

import (
	"time"

	"boretight/internal/air"
)

// Kind says what a record knows of the rig.
type Kind string

// Kinds of records.
const (
	KindCalibration Kind = "calibration"
	KindVolume      Kind = "volume"
	KindBlank       Kind = "blank"
	KindCheck       Kind = "check"
	KindProof       Kind = "proof"
)

// Record is one thing known of a rig, from when until when, and of what it holds. It is
// plain data, made to be kept and named in every result that used it. Just one of the
// pointers is set, the one of its kind.
type Record struct {
	ID   string `json:"id"`
	Kind Kind   `json:"kind"`
	// Rig is what it was measured with.
	Rig Identity `json:"rig"`
	// Joint is the joint and closure that a volume is of, as the catalogue names them.
	Joint string `json:"joint,omitempty"`
	// ValidFrom is when it was measured; ValidUntil when it is due again, zero for never.
	ValidFrom  time.Time `json:"valid_from"`
	ValidUntil time.Time `json:"valid_until,omitzero"`
	// Holds names the holds it was computed from.
	Holds []string `json:"holds,omitempty"`
	// Leak names the reference leak that was used.
	Leak string `json:"leak,omitempty"`
	// Notes are whole sentences for people: what was assumed, and what is in doubt.
	Notes []string `json:"notes,omitempty"`

	Calibration *Calibration `json:"calibration,omitempty"`
	Volume      *Volume      `json:"volume,omitempty"`
	Blank       *Blank       `json:"blank,omitempty"`
	Check       *Watch       `json:"check,omitempty"`
	Proof       *Proof       `json:"proof,omitempty"`
}

// Figure returns the one figure of a record with its unit: the span's factor, a volume,
// a leakage rate, the deviation of the newest check; of a proof the largest |E_n|.
func (r Record) Figure() (value Measured, unit string) {
	switch {
	case r.Calibration != nil:
		return r.Calibration.Span.Measured, "1"
	case r.Volume != nil:
		return r.Volume.Measured, "m³"
	case r.Blank != nil:
		return r.Blank.LeakRate.Measured, "Pa·m³/s"
	case r.Check != nil:
		return r.Check.Newest.Deviation, "1"
	case r.Proof != nil:
		return Measured{Value: r.Proof.worst()}, "1"
	}
	return Measured{}, ""
}

// whole reports whether a record holds what its kind says.
func (r Record) whole() bool {
	switch r.Kind {
	case KindCalibration:
		return r.Calibration != nil
	case KindVolume:
		return r.Volume != nil
	case KindBlank:
		return r.Blank != nil
	case KindCheck:
		return r.Check != nil
	case KindProof:
		return r.Proof != nil
	}
	return false
}

// passed reports whether what was tried turned out well; what is only measured always did.
func (r Record) passed() bool {
	switch r.Kind {
	case KindCheck:
		return r.Check.State == InControl
	case KindProof:
		return r.Proof.Passed
	}
	return true
}

// concerns reports whether a record is about what is asked for at all.
func (r Record) concerns(s Subject) bool {
	switch r.Kind {
	case KindCalibration:
		return r.Rig.Gauge == s.Rig.Gauge
	case KindVolume:
		return r.Joint == s.Joint
	case KindBlank:
		return s.Sign == 0 || r.Blank.Sign == s.Sign
	}
	return true
}

// changed returns which parts of the rig were changed since and matter to the record. A
// calibration hangs on the gauge alone, a volume of the joint alone on nothing.
func (r Record) changed(s Subject) []string {
	if r.Kind == KindCalibration || r.Kind == KindVolume && !r.Volume.RigIncluded {
		return nil
	}
	return s.Rig.Changed(r.Rig)
}

// Subject is what one wants to measure now.
type Subject struct {
	Rig   Identity
	Joint string   // joint and closure, as the catalogue names them
	Sign  air.Sign // 0: either
}
