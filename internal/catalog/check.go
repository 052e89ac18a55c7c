package catalog

import (
	"slices"
	"strings"

	"boretight/internal/quantity"
)

// What a joint's dimensions may be: wider than any woodwind, narrower than a slip of
// the decimal point.
const (
	minBore   quantity.Length = 1e-3
	maxBore   quantity.Length = 0.2
	maxLength quantity.Length = 3
	maxLand   quantity.Length = 5e-3
	maxHinge  quantity.Length = 0.1
)

func (r *reader) checkInstrument(i Instrument) {
	if !i.Title.Known() {
		r.fault("instrument", "instrument %q: title is not told: want title = \"…\"", i.Name)
	}
	if !i.System.Known() {
		r.fault("instrument", "instrument %q: system is not told: want the key system, system = \"…\"", i.Name)
	}
	if len(i.Joints) == 0 {
		r.fault("instrument", "instrument %q has no joint: want at least one [[joint]]", i.Name)
	}
}

// checkJoint refuses what cannot be. It looks at the whole joint, as a change of one
// thing may put another out of its place.
func (r *reader) checkJoint(path string, j Joint) {
	if len(j.Bore) == 0 {
		r.fault(path, "joint %q has no bore: want bore = [{ length = \"…\", from = \"…\", to = \"…\" }]", j.Name)
		return
	}
	for i, p := range j.Bore {
		at := element(join(path, "bore"), i)
		r.within(join(at, "length"), "bore: length", p.Length, 1e-4, maxLength)
		r.within(join(at, "from"), "bore: from", p.From, minBore, maxBore)
		r.within(join(at, "to"), "bore: to", p.To, minBore, maxBore)
	}
	if len(j.Ends) < 2 {
		r.fault(path, "joint %q has %d ends: want at least two, end = [{ name = \"…\", at = \"…\", closed-by = \"%s\" }]", j.Name, len(j.Ends), Stopper)
	}
	for _, e := range j.Ends {
		at, what := r.of(path, "end", e.Name)
		r.inBore(join(at, "at"), what+": at", e.At, j)
		r.told(at, what, "closed-by", Stopper, e.ClosedBy.Known())
	}
	for _, s := range j.Sections {
		at, what := r.of(path, "section", s.Name)
		r.inBore(join(at, "from"), what+": from", s.From, j)
		r.inBore(join(at, "to"), what+": to", s.To, j)
		if s.To.Value < s.From.Value+1e-4 { // a tenth of a millimetre, more than positions round
			r.fault(join(at, "to"), "%s: to = %s: want more than from, %s", what, s.To.Value, s.From.Value)
		}
	}
	for _, h := range j.Holes {
		at, what := r.of(path, "hole", h.Name)
		r.inBore(join(at, "at"), what+": at", h.At, j)
		r.opens(join(at, "diameter"), what+": diameter", h.Diameter, h.At, j)
		r.told(at, what, "finger", "left 1", h.Finger.Known())
	}
	for _, s := range j.Seats {
		r.checkSeat(path, j, s)
	}
}

func (r *reader) checkSeat(path string, j Joint, s Seat) {
	at, what := r.of(path, "seat", s.Name)
	r.inBore(join(at, "at"), what+": at", s.At, j)
	r.opens(join(at, "hole"), what+": hole", s.Hole, s.At, j)
	r.within(join(at, "land"), what+": land", s.Land, 1e-5, maxLand)
	r.within(join(at, "hinge"), what+": hinge", s.Hinge, 1e-4, maxHinge)
	r.within(join(at, "pad"), what+": pad", s.Pad, 1e-3, maxBore)
	if s.Pad.Known() && s.Pad.Value <= s.Hole.Value {
		r.fault(join(at, "pad"), "%s: pad = %s: want more than the hole's %s", what, s.Pad.Value, s.Hole.Value)
	}
	r.oneOf(at, what, "pad-kind", s.PadKind, PadKinds())
	r.oneOf(at, what, "stands", s.Stands, []string{Open, Closed})
	r.told(at, what, "key", "left little finger, G# key", s.Key.Known())
	r.told(at, what, "reach", "left hand", s.Reach.Known())
	if len(s.Can.Value) == 0 {
		r.fault(join(at, "can"), "%s: can is not told: want some of %s", what, strings.Join(Moves(), ", "))
	}
	for _, move := range s.Can.Value {
		if !slices.Contains(Moves(), move) {
			r.fault(join(at, "can"), "%s: can = %q: want some of %s", what, move, strings.Join(Moves(), ", "))
		}
	}
}

// of is where a named thing is told in this file, else its joint, and what to call it.
func (r *reader) of(joint, what, name string) (path, called string) {
	called = what + ` "` + name + `"`
	if at, ok := r.where[what+" "+name]; ok {
		return at, called
	}
	return joint, called
}

func (r *reader) told(path, what, key, example string, known bool) {
	if !known {
		r.fault(join(path, key), "%s: %s is not told: want such as %s = %q", what, key, key, example)
	}
}

func (r *reader) oneOf(path, what, key string, w Word, allowed []string) {
	switch {
	case !w.Known():
		r.fault(join(path, key), "%s: %s is not told: want one of %s", what, key, strings.Join(allowed, ", "))
	case !slices.Contains(allowed, w.Value):
		r.fault(join(path, key), "%s: %s = %q: want one of %s", what, key, w.Value, strings.Join(allowed, ", "))
	}
}

func (r *reader) within(path, what string, l Length, low, high quantity.Length) {
	switch {
	case !l.Known():
		r.fault(path, "%s is not told: want a length such as \"6.5 mm\"", what)
	case !(low <= l.Value && l.Value <= high):
		r.fault(path, "%s = %s: want from %s to %s", what, l.Value, low, high)
	}
}

// inBore wants a position that the bore has, to a micrometre: sums of lengths round.
func (r *reader) inBore(path, what string, at Length, j Joint) {
	const rounding = 1e-6
	switch {
	case !at.Known():
		r.fault(path, "%s is not told: want a position from 0 mm to %s along the bore", what, j.Length())
	case at.Value > j.Length()+rounding:
		r.fault(path, "%s = %s: want from 0 mm to %s, the length of the bore", what, at.Value, j.Length())
	}
}

// opens wants a diameter that a hole into the bore can have there.
func (r *reader) opens(path, what string, d, at Length, j Joint) {
	wide := j.DiameterAt(at.Value)
	switch {
	case !d.Known():
		r.fault(path, "%s is not told: want a diameter such as \"6.5 mm\"", what)
	case !(1e-4 <= d.Value && d.Value <= wide):
		r.fault(path, "%s = %s: want from 0.1 mm to %s, the width of the bore there", what, d.Value, wide)
	}
}
