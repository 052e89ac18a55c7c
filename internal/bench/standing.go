package bench

import (
	"math"
	"time"

	"boretight/internal/air"
	"boretight/internal/hold"
	"boretight/internal/rig"
	"boretight/internal/trial"
)

// RigState is what is on record of the rig of one gauge, and how it stands now.
type RigState struct {
	Gauge string `json:"gauge"`
	// Rig is what it is made of. Of a gauge that gave no serial number its label stands
	// there, and Unnamed is true.
	Rig     rig.Identity `json:"rig"`
	Unnamed bool         `json:"unnamed,omitempty"`
	// Known has one item a kind, missing ones included: calibration, volume, blank in
	// suction (one in pressure is a further item, if there is one), check, proof.
	Known []RigItem `json:"known"`
	// Proven tells whether the rig passed its proof, Trusted whether a joint may be judged
	// with it.
	Proven  bool `json:"proven"`
	Trusted bool `json:"trusted"`
	// Worth are sentences that must stand beside each verdict, since they change what it
	// is worth.
	Worth []string `json:"worth,omitempty"`
}

// RigItem is one thing known of a rig, or that nothing is known of the kind.
type RigItem struct {
	Kind  rig.Kind  `json:"kind"`
	State rig.State `json:"state"`
	// Says is a sentence for people; empty when all is well.
	Says string `json:"says,omitempty"`
	// ID is the record's; empty when missing, like all that follows.
	ID string `json:"id,omitempty"`
	// Of is the joint and closure that a volume is of, or the reference leak used.
	Of   string `json:"of,omitempty"`
	Sign string `json:"sign,omitempty"` // of a blank
	// ValidFrom is when it was measured; ValidUntil is zero for what is never due.
	ValidFrom  time.Time `json:"valid_from,omitzero"`
	ValidUntil time.Time `json:"valid_until,omitzero"`
	// Figure is the factor of the span, the volume, the rig's own leakage rate, by how much
	// the newest check is off as a ratio, or the largest |En| of a proof, which has no
	// uncertainty. Unit is that of SI, "1" for ratios.
	Figure *trial.Value `json:"figure,omitempty"`
	Unit   string       `json:"unit,omitempty"`
}

// rigs says how the rig of each gauge stands now. Nothing of it waits for a disk.
func (b *Bench) rigs() []RigState {
	if b.rigRecords == nil {
		return nil
	}
	states := make([]RigState, len(b.lines))
	for i, l := range b.lines {
		states[i] = b.terms(l, l.source.Gauge.Stats().Identity.Serial).rigState(l.source.Name)
	}
	return states
}

func (t terms) rigState(gauge string) RigState {
	s, pressed := t.standing(air.Sign(hold.Suction)), t.standing(air.Sign(hold.Pressure)).Blank
	state := RigState{Gauge: gauge, Rig: t.rig, Unnamed: t.unnamed, Proven: s.Proven(), Trusted: s.Trusted()}
	state.Known = []RigItem{
		rigItem(rig.KindCalibration, s.Calibration), rigItem(rig.KindVolume, s.Volume), rigItem(rig.KindBlank, s.Blank),
	}
	if pressed.Record != nil {
		state.Known[2].Sign = hold.Suction.String() // missing or not
		state.Known = append(state.Known, rigItem(rig.KindBlank, pressed))
	}
	state.Known = append(state.Known, rigItem(rig.KindCheck, s.Check), rigItem(rig.KindProof, s.Proof))
	if !state.Trusted {
		state.Worth = append(state.Worth, "Check the rig.")
	}
	if !state.Proven {
		state.Worth = append(state.Worth, "Rig not proven.")
	}
	return state
}

func rigItem(kind rig.Kind, h rig.Held) RigItem {
	item := RigItem{Kind: kind, State: h.State, Says: h.Says}
	r := h.Record
	if r == nil {
		return item
	}
	item.ID, item.Of, item.ValidFrom, item.ValidUntil = r.ID, r.Joint+r.Leak, r.ValidFrom, r.ValidUntil
	if r.Blank != nil {
		item.Sign = r.Blank.Sign.String()
	}
	item.Figure, item.Unit = rigFigure(*r)
	return item
}

// rigFigure is the one figure of a record; nil where it has none, so that nothing that is
// no number reaches those who read a snapshot.
func rigFigure(r rig.Record) (*trial.Value, string) {
	m, unit := r.Figure()
	if r.Check != nil {
		m = r.Check.Newest.Deviation // with its own uncertainty, not the chart's
	}
	if unit == "" || math.IsNaN(m.Value+m.U) || math.IsInf(m.Value+m.U, 0) {
		return nil, ""
	}
	return &trial.Value{Value: m.Value, U: m.U}, unit
}
