package bench

import (
	"encoding/json"
	"fmt"

	"boretight/internal/decay"
	"boretight/internal/hold"
	"boretight/internal/quantity"
	"boretight/internal/rig"
)

// Told is what a hold's begin record keeps of all that its fit is told, so that the fit
// can be made again; see [Told.Setup].
type Told struct {
	// Fit holds for both signs: volume and span from the rig's records are in it, the
	// rig's own leak is in Rig.
	Fit    decay.Setup       `json:"fit"`
	Limit  quantity.LeakRate `json:"limit"`
	Method string            `json:"method"`
	// Rig is what the rig was and what of it was known, by the sign of a draw, which is not
	// yet seen when a hold begins; nil where nothing was looked at.
	Rig map[string]ToldRig `json:"rig,omitempty"`
	// Replugged tells that the stoppers were put in anew before the hold.
	Replugged bool `json:"replugged,omitempty"`
}

// ToldRig is a rig with the identities of what was known of it and used; empty where
// nothing of a kind was.
type ToldRig struct {
	Identity rig.Identity `json:"identity"`
	// Unnamed tells that the gauge gave no serial number: Identity has its label.
	Unnamed     bool   `json:"unnamed,omitempty"`
	Calibration string `json:"calibration,omitempty"`
	Volume      string `json:"volume,omitempty"`
	// RigVolume is the blank that told the volume of the rig, where Volume leaves it out.
	RigVolume string `json:"rig_volume,omitempty"`
	// Blank is what was subtracted, Leak how much in Pa·m³/s.
	Blank string      `json:"blank,omitempty"`
	Leak  decay.Input `json:"leak,omitzero"`
}

// Setup returns what the fit of a hold of that sign was told.
func (t Told) Setup(sign hold.Sign) decay.Setup {
	s := t.Fit
	if r, ok := t.Rig[sign.String()]; ok {
		s.Rig = r.Leak
	}
	return s
}

// ReadTold reads what a begin record keeps; of one that keeps nothing, the zero Told.
func ReadTold(setup json.RawMessage) (t Told, err error) {
	if len(setup) == 0 {
		return t, nil
	}
	if err := json.Unmarshal(setup, &t); err != nil {
		return t, fmt.Errorf("read what a hold's fit was told: %w", err)
	}
	return t, nil
}

// told returns what the begin record keeps of the terms.
func (t terms) told() Told {
	all := Told{Fit: t.settings.Fit, Limit: t.settings.Limit, Method: decay.Method, Replugged: t.settings.Replugged}
	if !t.known {
		return all
	}
	all.Rig = map[string]ToldRig{}
	for _, sign := range []hold.Sign{hold.Suction, hold.Pressure} {
		m := t.of(sign)
		m.told.Leak = m.fit.Rig
		all.Rig[sign.String()] = m.told
		all.Fit = m.fit
		all.Fit.Rig = t.settings.Fit.Rig
	}
	return all
}
