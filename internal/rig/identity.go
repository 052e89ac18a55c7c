package rig

// Identity is what a rig is made of. Whatever was measured of a rig holds only for the
// same parts: another hose has another volume and another leak.
type Identity struct {
	Gauge    string `json:"gauge"`    // serial number
	Hose     string `json:"hose"`     // as the shop names it
	Stoppers string `json:"stoppers"` // set
	Valve    string `json:"valve"`
}

// Changed returns which parts differ from those of an earlier rig, in words.
func (id Identity) Changed(since Identity) []string {
	var parts []string
	for _, p := range []struct{ name, now, then string }{
		{"gauge", id.Gauge, since.Gauge}, {"hose", id.Hose, since.Hose},
		{"stoppers", id.Stoppers, since.Stoppers}, {"valve", id.Valve, since.Valve},
	} {
		if p.now != p.then {
			parts = append(parts, p.name)
		}
	}
	return parts
}
