package config

import (
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Labels say what is held, for people, records and metrics. An empty field was not
// told. Its tags serve the file's [labels] table and the flags.
type Labels struct {
	Joint     string `toml:"joint" group:"labels" placeholder:"oboe/upper" help:"What is held, as INSTRUMENT/JOINT."`
	Section   string `toml:"section" group:"labels" placeholder:"NAME" help:"Stretch of the joint, or group of its seats, that is held apart."`
	Closure   string `toml:"closure" group:"labels" placeholder:"NAME" help:"What is plugged, taped or pressed, under a short name of yours."`
	When      string `toml:"when" group:"labels" placeholder:"as_found" help:"as_found before the work, as_left after it."`
	Ticket    string `toml:"ticket" group:"labels" placeholder:"ID" help:"Visit of the instrument that this belongs to."`
	Replugged bool   `toml:"replugged" group:"labels" help:"The stoppers are taken out and put in again between holds; else they stay in."`
}

// Occasions that work divides.
const (
	AsFound = "as_found"
	AsLeft  = "as_left"
)

// maxLabel in letters keeps labels of metrics and columns of lists short.
const maxLabel = 40

// Instrument returns the part of the joint's name before the slash.
func (l Labels) Instrument() string {
	instrument, _, _ := strings.Cut(l.Joint, "/")
	return instrument
}

// JointOf returns the part of the joint's name behind the slash.
func (l Labels) JointOf() string {
	_, joint, _ := strings.Cut(l.Joint, "/")
	return joint
}

// Occasion returns When as records spell it; as-found is accepted for as_found.
func (l Labels) Occasion() string { return strings.ReplaceAll(l.When, "-", "_") }

// Over returns l with what it was not told taken from base.
func (l Labels) Over(base Labels) Labels {
	return Labels{
		Joint:     text(l.Joint, base.Joint),
		Section:   text(l.Section, base.Section),
		Closure:   text(l.Closure, base.Closure),
		When:      text(l.When, base.When),
		Ticket:    text(l.Ticket, base.Ticket),
		Replugged: l.Replugged || base.Replugged,
	}
}

// Validate returns all that cannot be.
func (l Labels) Validate() error {
	faults := []error{
		labelled("section", l.Section), labelled("closure", l.Closure), labelled("ticket", l.Ticket),
	}
	if l.Joint != "" {
		faults = append(faults, ValidateJoint(l.Joint))
	}
	switch l.Occasion() {
	case "", AsFound, AsLeft:
	default:
		faults = append(faults, fmt.Errorf("when = %q: want %s or %s", l.When, AsFound, AsLeft))
	}
	return errors.Join(faults...)
}

// ValidateJoint refuses what is no INSTRUMENT/JOINT.
func ValidateJoint(name string) error {
	instrument, joint, ok := strings.Cut(name, "/")
	if !ok || !short(instrument) || !short(joint) || strings.Contains(joint, "/") {
		return fmt.Errorf("joint = %q: want INSTRUMENT/JOINT, such as oboe/upper, each of 1 to %d letters, digits or signs that can be seen", name, maxLabel)
	}
	return nil
}

// Rig names the parts of the rig as the shop does; what was measured of a rig holds
// for the same parts only. Its tags serve the file's [rig] table and the flags.
type Rig struct {
	Hose     string `toml:"hose" group:"rig" placeholder:"NAME" help:"Hose between gauge and joint."`
	Stoppers string `toml:"stoppers" group:"rig" placeholder:"NAME" help:"Set of stoppers."`
	Valve    string `toml:"valve" group:"rig" placeholder:"NAME" help:"Valve that shuts the joint off."`
}

// Over returns r with what it was not told taken from base.
func (r Rig) Over(base Rig) Rig {
	return Rig{text(r.Hose, base.Hose), text(r.Stoppers, base.Stoppers), text(r.Valve, base.Valve)}
}

// Validate returns all names that cannot be.
func (r Rig) Validate() error {
	return errors.Join(labelled("hose", r.Hose), labelled("stoppers", r.Stoppers), labelled("valve", r.Valve))
}

func text(told, base string) string {
	if told != "" {
		return told
	}
	return base
}

// labelled refuses a name that is too long or cannot be seen; an empty one was not told.
func labelled(key, name string) error {
	if name == "" || short(name) {
		return nil
	}
	return fmt.Errorf("%s = %q: want 1 to %d letters, digits or signs that can be seen", key, name, maxLabel)
}

// short reports whether a name is one: not empty, not too long, and nothing in it that
// a screen or a file would not show as it is.
func short(name string) bool {
	if name == "" || !utf8.ValidString(name) || utf8.RuneCountInString(name) > maxLabel || strings.TrimSpace(name) != name {
		return false
	}
	return strings.IndexFunc(name, func(r rune) bool { return !unicode.IsPrint(r) }) < 0
}
