package catalog

import "slices"

// Instrument is one kind of instrument in one key system.
type Instrument struct {
	Name   string // as commands and labels have it, such as oboe
	Title  Word   // for people
	System Word   // key system that the seats are those of
	Notes  []Word // risks of all its joints
	Joints []Joint
}

// Joint finds a joint by its name.
func (i Instrument) Joint(name string) (Joint, bool) {
	k := slices.IndexFunc(i.Joints, func(j Joint) bool { return j.Name == name })
	if k < 0 {
		return Joint{}, false
	}
	return i.Joints[k], true
}

// Joint is a part that is held by itself.
type Joint struct {
	Name     string // such as upper
	Title    Word   // for people
	Bore     []Piece
	Ends     []End
	Sections []Section
	Holes    []Hole
	Seats    []Seat // positions rising
	Notes    []Word // risks
}

// Piece is a stretch of bore that widens or narrows evenly.
type Piece struct {
	Length   Length
	From, To Length // diameters
}

// End is where the bore opens or is closed for good.
type End struct {
	Name     string
	At       Length
	ClosedBy Word // [Stopper], or what closes it by itself, such as cork
}

// Stopper is what closes an end for a hold only.
const Stopper = "stopper"

// Stoppered reports whether the end needs a stopper in a hold.
func (e End) Stoppered() bool { return e.ClosedBy.Value == Stopper }

// Section is a stretch of the joint that can be closed off and measured apart.
type Section struct {
	Name     string
	From, To Length // positions
}

// Hole is a tone hole that a finger stops, not a pad.
type Hole struct {
	Name     string
	At       Length
	Diameter Length
	Finger   Word
}

// Seat is where a pad closes a tone hole.
type Seat struct {
	Name    string // as the trade says it
	At      Length // position of the hole's centre
	Hole    Length // diameter of the tone hole
	Land    Length // width of the rim that the pad closes on
	Pad     Length // diameter
	PadKind Word   // one of [PadKinds]
	Hinge   Length // from the hole's near rim back to the axis that the key turns on
	Key     Word   // finger or key that works it
	Stands  Word   // [Open] or [Closed], at rest
	Can     Words  // of [Moves], what may be done to it in a hold
	Reach   Word   // seats of one reach group may be worked at once
}

// How a key stands at rest.
const (
	Open   = "open"
	Closed = "closed"
)

// Can be done to a seat.
const (
	Press = "press" // press its key harder
	Plug  = "plug"  // close its hole by other means
	Tape  = "tape"  // lay film over the cup's edge
)

// Moves returns all that may be done to a seat.
func Moves() []string { return []string{Press, Plug, Tape} }

// PadKinds returns the kinds of pads.
func PadKinds() []string { return []string{"bladder", "cork", "leather", "synthetic"} }

// clone returns a copy that shares nothing that is changed in place.
func (i Instrument) clone() Instrument {
	i.Notes = slices.Clone(i.Notes)
	i.Joints = slices.Clone(i.Joints)
	for k := range i.Joints {
		j := &i.Joints[k]
		j.Bore, j.Ends, j.Sections = slices.Clone(j.Bore), slices.Clone(j.Ends), slices.Clone(j.Sections)
		j.Holes, j.Seats, j.Notes = slices.Clone(j.Holes), slices.Clone(j.Seats), slices.Clone(j.Notes)
	}
	return i
}
