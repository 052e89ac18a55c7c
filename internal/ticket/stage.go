package ticket

import "slices"

// The two occasions on which a joint is held.
const (
	AsFound = "as_found"
	AsLeft  = "as_left"
)

// Stage is one trial that a visit asks for.
type Stage struct {
	// Joint is INSTRUMENT/JOINT.
	Joint string
	// When is [AsFound] or [AsLeft].
	When string
}

// Stages returns all stages of a visit in their order: every joint as found, then every
// joint as left.
func (t Ticket) Stages() []Stage {
	all := make([]Stage, 0, 2*len(t.Joints))
	for _, when := range [...]string{AsFound, AsLeft} {
		for _, j := range t.Joints {
			all = append(all, Stage{Joint: t.Instrument.Template + "/" + j, When: when})
		}
	}
	return all
}

// After returns the stage that follows s. The zero Stage comes before the first. It reports
// false after the last one and for a stage that is not the ticket's.
func (t Ticket) After(s Stage) (Stage, bool) {
	all := t.Stages()
	next := 0
	if s != (Stage{}) {
		next = slices.Index(all, s) + 1
		if next == 0 {
			return Stage{}, false
		}
	}
	if next == len(all) {
		return Stage{}, false
	}
	return all[next], true
}
