package catalog

import (
	"cmp"
	"slices"
	"strings"
)

// instrument lays a file over what the catalogue knows of its instrument.
func (r *reader) instrument(c Catalog, f file) (Instrument, error) {
	if f.Instrument == "" {
		r.fault("", "no instrument: want instrument = \"oboe\"")
		return Instrument{}, r.err()
	}
	i := r.base(c, f)
	r.named("instrument", "instrument", f.Instrument)
	i.Name = f.Instrument
	r.word("title", f.Title, &i.Title)
	r.word("system", f.System, &i.System)
	r.notes("notes", f.Notes, &i.Notes)
	seen := map[string]bool{}
	for k, told := range f.Joints {
		at := element("joint", k)
		if !r.named(at, "joint", told.Name) {
			continue
		}
		if seen[told.Name] {
			r.fault(at, "two joints %q: want each joint once", told.Name)
			continue
		}
		seen[told.Name] = true
		n := slices.IndexFunc(i.Joints, func(j Joint) bool { return j.Name == told.Name })
		if n < 0 {
			n = len(i.Joints)
			i.Joints = append(i.Joints, Joint{Name: told.Name})
		}
		r.joint(at, &i.Joints[n], told)
	}
	r.checkInstrument(i)
	return i, r.err()
}

// base is what the file is laid over: the instrument itself, another that it is like,
// or nothing.
func (r *reader) base(c Catalog, f file) Instrument {
	known, err := c.Instrument(f.Instrument)
	if f.Like == "" {
		return known.clone() // of the zero value when there is none
	}
	if err == nil {
		r.fault("like", "like = %q: there is an instrument %q already; want like with a new name only", f.Like, f.Instrument)
		return known.clone()
	}
	like, err := c.Instrument(f.Like)
	if err != nil {
		r.fault("like", "like = %q: %v", f.Like, err)
	}
	return like.clone()
}

func (r *reader) joint(path string, j *Joint, f jointFile) {
	r.where = map[string]string{}
	r.word(join(path, "title"), f.Title, &j.Title)
	r.notes(join(path, "notes"), f.Notes, &j.Notes)
	r.without(join(path, "without"), j, f.Without)
	r.bore(join(path, "bore"), j, f.Bore)
	j.Ends = layOver(r, join(path, "end"), "end", j.Ends, f.Ends,
		func(e End) string { return e.Name }, func(e endFile) string { return e.Name }, r.end)
	j.Sections = layOver(r, join(path, "section"), "section", j.Sections, f.Sections,
		func(s Section) string { return s.Name }, func(s sectionFile) string { return s.Name }, r.section)
	j.Holes = layOver(r, join(path, "hole"), "hole", j.Holes, f.Holes,
		func(h Hole) string { return h.Name }, func(h holeFile) string { return h.Name }, r.hole)
	usual := r.usualSeat(join(path, "usual"), f.Usual)
	j.Seats = layOver(r, join(path, "seat"), "seat", j.Seats, f.Seats,
		func(s Seat) string { return s.Name }, func(s seatFile) string { return s.Name },
		func(at string, was *Seat, told seatFile) {
			if was.Name == "" {
				*was = usual
			}
			r.seat(at, was, told)
		})
	slices.SortStableFunc(j.Ends, func(a, b End) int { return cmp.Compare(a.At.Value, b.At.Value) })
	slices.SortStableFunc(j.Holes, func(a, b Hole) int { return cmp.Compare(a.At.Value, b.At.Value) })
	slices.SortStableFunc(j.Seats, func(a, b Seat) int { return cmp.Compare(a.At.Value, b.At.Value) })
	r.checkJoint(path, *j)
}

// without takes away what the shop's instrument does not have.
func (r *reader) without(path string, j *Joint, names []string) {
	for i, name := range names {
		before := len(j.Ends) + len(j.Sections) + len(j.Holes) + len(j.Seats)
		j.Ends = slices.DeleteFunc(j.Ends, func(e End) bool { return e.Name == name })
		j.Sections = slices.DeleteFunc(j.Sections, func(s Section) bool { return s.Name == name })
		j.Holes = slices.DeleteFunc(j.Holes, func(h Hole) bool { return h.Name == name })
		j.Seats = slices.DeleteFunc(j.Seats, func(s Seat) bool { return s.Name == name })
		if before == len(j.Ends)+len(j.Sections)+len(j.Holes)+len(j.Seats) {
			r.fault(element(path, i), "without %q: joint %q has none of that name; want one of %s", name, j.Name, strings.Join(j.names(), ", "))
		}
	}
}

// names are those of all that a file may be without.
func (j Joint) names() []string {
	var names []string
	for _, s := range j.Seats {
		names = append(names, s.Name)
	}
	for _, h := range j.Holes {
		names = append(names, h.Name)
	}
	for _, s := range j.Sections {
		names = append(names, s.Name)
	}
	for _, e := range j.Ends {
		names = append(names, e.Name)
	}
	return names
}

// bore takes the place of the bore that was known: half of one would fit nothing.
func (r *reader) bore(path string, j *Joint, told []boreFile) {
	if len(told) == 0 {
		return
	}
	j.Bore = make([]Piece, len(told))
	for i, f := range told {
		at, p := element(path, i), &j.Bore[i]
		r.length(join(at, "length"), f.Length, &p.Length)
		r.length(join(at, "from"), f.From, &p.From)
		r.length(join(at, "to"), f.To, &p.To)
	}
}

func (r *reader) end(path string, e *End, f endFile) {
	e.Name = f.Name
	r.length(join(path, "at"), f.At, &e.At)
	r.word(join(path, "closed-by"), f.ClosedBy, &e.ClosedBy)
}

func (r *reader) section(path string, s *Section, f sectionFile) {
	s.Name = f.Name
	r.length(join(path, "from"), f.From, &s.From)
	r.length(join(path, "to"), f.To, &s.To)
}

func (r *reader) hole(path string, h *Hole, f holeFile) {
	h.Name = f.Name
	r.length(join(path, "at"), f.At, &h.At)
	r.length(join(path, "diameter"), f.Diameter, &h.Diameter)
	r.word(join(path, "finger"), f.Finger, &h.Finger)
}

// usualSeat is what new seats of a joint begin with.
func (r *reader) usualSeat(path string, f seatFile) Seat {
	var s Seat
	if f.Name != "" || f.At.told {
		r.fault(path, "usual tells a name or a position: want them of each seat")
	}
	r.seat(path, &s, f)
	s.Name = ""
	return s
}

func (r *reader) seat(path string, s *Seat, f seatFile) {
	s.Name = f.Name
	r.length(join(path, "at"), f.At, &s.At)
	r.length(join(path, "hole"), f.Hole, &s.Hole)
	r.length(join(path, "land"), f.Land, &s.Land)
	r.length(join(path, "pad"), f.Pad, &s.Pad)
	r.word(join(path, "pad-kind"), f.PadKind, &s.PadKind)
	r.length(join(path, "hinge"), f.Hinge, &s.Hinge)
	r.word(join(path, "key"), f.Key, &s.Key)
	r.word(join(path, "stands"), f.Stands, &s.Stands)
	r.word(join(path, "reach"), f.Reach, &s.Reach)
	if f.Can != nil {
		s.Can = Words{f.Can, r.usual}
	}
}
