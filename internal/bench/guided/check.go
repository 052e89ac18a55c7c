package guided

import (
	"fmt"

	"boretight/internal/rig"
)

// Check leads through holds of a reference leak on a body of known volume, and charts
// what it found after earlier checks.
type Check struct {
	referenced
	earlier []rig.Checked
}

// NewCheck returns the procedure of a number of holds. body is what the leak sits on
// beside the rig, in m³, zero for nothing; earlier are the checks that the chart goes on
// from, in their order.
func NewCheck(t Told, r Reference, body rig.Measured, holds int, earlier []rig.Checked) (*Check, error) {
	if holds < 1 {
		return nil, fmt.Errorf("lead a check: %d holds: want at least 1", holds)
	}
	where := "the reference leak " + r.Leak.ID + " on the rig"
	if body.Value > 0 {
		where = fmt.Sprintf("the reference leak %s on %.4g ml", r.Leak.ID, body.Value*1e6)
	}
	return &Check{
		referenced: referenced{
			staged:    staged{series: series{told: t.atCertificate(r.Leak)}, title: "Check", stages: []string{where}, each: holds},
			reference: r, bodies: []rig.Measured{body},
		},
		earlier: earlier,
	}, nil
}

// Record implements [Procedure].
func (c *Check) Record() (rig.Record, error) {
	found, err := c.compare(0)
	if err != nil {
		return rig.Record{}, err
	}
	watch := rig.WatchOver(append(c.earlier[:len(c.earlier):len(c.earlier)], found.checked))
	return rig.Record{
		Kind: rig.KindCheck, Rig: c.told.Rig, Holds: c.ids(), Leak: c.reference.Leak.ID,
		Notes: append(c.told.notes(c.temperature()), found.notes...), Check: &watch,
	}, nil
}
