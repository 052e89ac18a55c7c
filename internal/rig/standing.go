package rig

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// State says how a record stands at a moment.
type State string

// States of a record.
const (
	Holds   State = "holds"
	Overdue State = "overdue" // its time has passed
	Changed State = "changed" // the rig is no longer the one that was measured
	Failed  State = "failed"  // it was tried and did not pass
	Missing State = "missing"
)

// Held is the record of a kind that counts with how it stands. Record is nil when missing.
type Held struct {
	State  State   `json:"state"`
	Record *Record `json:"record,omitempty"`
	// Says is a sentence for people.
	Says string `json:"says"`
}

// Holds reports whether the record may be used as it is.
func (h Held) Holds() bool { return h.State == Holds }

// Standing is what is known of a rig at a moment.
type Standing struct {
	Calibration Held `json:"calibration"`
	Volume      Held `json:"volume"`
	Blank       Held `json:"blank"`
	Check       Held `json:"check"`
	Proof       Held `json:"proof"`
}

// NewStanding says of records, in any order, how they stand now for a subject. Of each
// kind the newest that is of this very rig counts, and only where there is none the newest
// of another: a shop may have two gauges, or go back to an old hose. An older one that
// once held never hides a newer one that failed. A check that put the rig out of control
// counts until a later one with the same reference leak says otherwise, or the rig passes
// its proof. Records from the future are left out, and so are those that do not hold what
// their kind says.
func NewStanding(now time.Time, subject Subject, records ...Record) Standing {
	of := func(k Kind) Held { return subject.held(k, now, records) }
	return Standing{
		Calibration: of(KindCalibration), Volume: of(KindVolume), Blank: of(KindBlank),
		Check: of(KindCheck), Proof: of(KindProof),
	}
}

// Proven reports whether the rig has passed its proof; until then every result carries
// "rig not proven".
func (s Standing) Proven() bool { return s.Proof.Holds() }

// Trusted reports whether a customer's joint may be judged: with a rig that was found
// out of control it may not. One that was not checked may, and says so in its notes.
func (s Standing) Trusted() bool {
	return s.Check.State != Failed || s.Check.Record.Check.State != OutOfControl
}

// Notes returns what people must be told: all that does not hold, or is due soon.
func (s Standing) Notes() []string {
	var notes []string
	for _, h := range []Held{s.Check, s.Proof, s.Calibration, s.Volume, s.Blank} {
		if h.Says != "" {
			notes = append(notes, h.Says)
		}
	}
	return notes
}

// Used returns the identities of the records that hold, for a result that used them.
func (s Standing) Used() []string {
	var ids []string
	for _, h := range []Held{s.Calibration, s.Volume, s.Blank, s.Check, s.Proof} {
		if h.Holds() {
			ids = append(ids, h.Record.ID)
		}
	}
	return ids
}

// held finds the record of a kind that counts and says how it stands.
func (s Subject) held(kind Kind, now time.Time, records []Record) Held {
	known := s.known(kind, now, records)
	if len(known) == 0 {
		return Held{State: Missing, Says: missing(kind)}
	}
	counts := known[len(known)-1]
	if kind == KindCheck {
		known = unlifted(known, s.known(KindProof, now, records))
		if len(known) == 0 {
			return Held{State: Missing, Says: "The rig has not been checked with a reference leak since it was proven."}
		}
		counts = decisive(known)
	}
	kept := *counts // the caller's slice may change
	h := Held{State: Holds, Record: &kept}
	parts := kept.changed(s)
	switch {
	case !kept.passed():
		h.State, h.Says = Failed, failed(kept)
	case len(parts) > 0:
		h.State = Changed
		h.Says = fmt.Sprintf("The rig was changed since its %s (%s): take a new one.%s", kind, strings.Join(parts, ", "), unproven(kind))
	case !kept.ValidUntil.IsZero() && now.After(kept.ValidUntil):
		h.State = Overdue
		h.Says = fmt.Sprintf("The %s of %s is overdue since %s.%s", kind, day(kept.ValidFrom), day(kept.ValidUntil), unproven(kind))
	case !kept.ValidUntil.IsZero() && kept.ValidUntil.Sub(now) < kept.ValidUntil.Sub(kept.ValidFrom)/10:
		h.Says = fmt.Sprintf("The %s is due on %s.", kind, day(kept.ValidUntil))
	}
	return h
}

// known returns the records of a kind that concern the subject, oldest first: those of
// this very rig, or if there are none those of others.
func (s Subject) known(kind Kind, now time.Time, records []Record) []*Record {
	var own, others []*Record
	for i := range records {
		r := &records[i]
		switch {
		case r.Kind != kind || !r.whole() || !r.concerns(s) || r.ValidFrom.After(now):
		case len(r.changed(s)) == 0:
			own = append(own, r)
		default:
			others = append(others, r)
		}
	}
	if len(own) == 0 {
		own = others
	}
	slices.SortStableFunc(own, func(a, b *Record) int { return a.ValidFrom.Compare(b.ValidFrom) })
	return own
}

// unlifted leaves out checks that did not pass and after which the same rig passed a
// proof: one that was mended is proven anew.
func unlifted(checks, proofs []*Record) []*Record {
	return slices.DeleteFunc(checks, func(c *Record) bool {
		return !c.passed() && slices.ContainsFunc(proofs, func(p *Record) bool {
			return p.passed() && p.ValidFrom.After(c.ValidFrom) && len(p.Rig.Changed(c.Rig)) == 0
		})
	})
}

// decisive returns the check of several, oldest first, that a rig stands by. One that put
// it out of control stands until the same reference leak says otherwise: neither another
// leak nor a check that says nothing takes its place. Else it is the newest.
func decisive(checks []*Record) *Record {
	says := map[string]*Record{} // the newest that says something, by leak
	for _, c := range checks {
		if c.Check.State != Unchecked {
			says[c.Leak] = c
		}
	}
	for _, c := range slices.Backward(checks) {
		if c.Check.State == OutOfControl && says[c.Leak] == c {
			return c
		}
	}
	return checks[len(checks)-1]
}

func day(t time.Time) string { return t.Format("2 Jan 2006") }

// unproven is what it means for a rig that a record no longer holds.
func unproven(kind Kind) string {
	switch kind {
	case KindCalibration:
		return " Until there is a new one the span counts as known to 2 %."
	case KindProof:
		return " Rig not proven."
	case KindBlank:
		return " It is not subtracted: what the rig leaks counts as the joint's."
	}
	return ""
}

// missing is what it means that nothing of a kind is on record.
func missing(kind Kind) string {
	switch kind {
	case KindCalibration:
		return "The gauge has no calibration on record: its span counts as known to 2 %."
	case KindVolume:
		return "No volume was measured for this joint with this closure."
	case KindBlank:
		return "No blank of this rig is on record: what the rig leaks counts as the joint's."
	case KindCheck:
		return "The rig has not been checked with a reference leak."
	case KindProof:
		return "Rig not proven: measure a reference leak on three rigid bottles."
	}
	return ""
}

// failed is what a check or a proof said when it did not pass.
func failed(r Record) string {
	if r.Check != nil {
		return r.Check.Says
	}
	return "Rig not proven: " + strings.Join(r.Proof.Says, " ")
}
