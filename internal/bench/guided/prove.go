package guided

import (
	"fmt"
	"slices"

	"boretight/internal/rig"
)

// Proof leads through holds of a reference leak on three or more rigid bottles.
type Proof struct {
	referenced
}

// NewProof returns the procedure of a number of holds on each bottle, the rig not
// included in their volumes (m³). Bottles from which nothing could be proven are refused.
func NewProof(t Told, r Reference, bottles []rig.Measured, holds int) (*Proof, error) {
	if holds < 1 {
		return nil, fmt.Errorf("lead a proof: %d holds a bottle: want at least 1", holds)
	}
	if err := plausible(r, bottles); err != nil {
		return nil, err
	}
	stages := make([]string, len(bottles))
	for i, b := range bottles {
		stages[i] = fmt.Sprintf("the reference leak %s on the bottle of %.4g ml", r.Leak.ID, b.Value*1e6)
	}
	return &Proof{
		referenced: referenced{
			staged:    staged{series: series{told: t.atCertificate(r.Leak)}, title: "Proof", stages: stages, each: holds},
			reference: r, bodies: bottles,
		},
	}, nil
}

// plausible tries the bottles on a rig that reads right, before anybody holds them.
func plausible(r Reference, bottles []rig.Measured) error {
	var own rig.Measured
	if len(r.Blanks) > 0 {
		own = r.Blanks[0].Volume
	}
	trials := make([]rig.Trial, len(bottles))
	for i, b := range bottles {
		trials[i].Volume = rig.Enclosed{Body: b, Rig: own, Dead: r.Dead}.Volume()
	}
	_, err := rig.Prove(trials)
	return err
}

// Record implements [Procedure].
func (p *Proof) Record() (rig.Record, error) {
	notes := p.told.notes(p.temperature())
	trials := make([]rig.Trial, len(p.bodies))
	for i := range p.bodies {
		found, err := p.compare(i)
		if err != nil {
			return rig.Record{}, err
		}
		trials[i] = rig.Trial{Volume: found.volume, Checked: found.checked, OwnU: found.ownU}
		for _, n := range found.notes {
			if !slices.Contains(notes, n) {
				notes = append(notes, n)
			}
		}
	}
	proof, err := rig.Prove(trials)
	if err != nil {
		return rig.Record{}, err
	}
	return rig.Record{Kind: rig.KindProof, Rig: p.told.Rig, Holds: p.ids(), Leak: p.reference.Leak.ID, Notes: notes, Proof: &proof}, nil
}
