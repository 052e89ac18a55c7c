package catalog

import (
	"fmt"
	"slices"
)

// Thing is one thing of a joint that a shop's file may tell.
type Thing struct {
	Joint string
	Kind  string // one of the kinds
	Name  string // empty for a bore, which is told whole
}

// Kinds of things, as a file spells them.
const (
	KindBore    = "bore"
	KindEnd     = "end"
	KindSection = "section"
	KindHole    = "hole"
	KindSeat    = "seat"
	KindWithout = "without" // that the joint does not have what has the name
)

// Amendment is a thing with what a file tells of it.
type Amendment struct {
	Thing
	// Told has texts by key, as they stand in the file; of a bore by piece and key, such as
	// "1 from".
	Told map[string]string
}

// Begin returns the file of a new instrument that begins as a copy of another.
func Begin(name, like, title, system string) ([]byte, error) {
	return write("", amended{Instrument: name, Like: like, Title: title, System: system})
}

// Amend returns a shop's file with what is told of one thing laid over what the file tells
// of it already; an empty text begins the file of an instrument. Told has texts by key as a
// file has them, such as at = "197.5 mm"; an empty one takes the key out. What is so told
// counts as measured by the shop, or where source is not empty as published there. A bore is
// told whole: by piece, from 1, and key, such as "1 from".
//
// What stands in the head of the file stays; comments between its lines do not. Whether
// the instrument is still one that can be is for [Catalog.Edit] to say.
func Amend(text []byte, instrument string, of Thing, told map[string]string, source string) ([]byte, error) {
	f, head, err := amendedOf(text, instrument)
	if err != nil {
		return nil, err
	}
	mark := f.mark(source)
	j := f.joint(of.Joint)
	switch of.Kind {
	case KindWithout:
		if !slices.Contains(j.Without, of.Name) {
			j.Without = append(j.Without, of.Name)
		}
		// What the file itself tells of it would bring it back.
		for _, kind := range []string{KindEnd, KindSection, KindHole, KindSeat} {
			if list, err := j.list(kind); err == nil {
				*list = slices.DeleteFunc(*list, func(p part) bool { return p.Name == of.Name })
			}
		}
	case KindBore:
		j.Bore, err = boreOf(told, mark)
	default:
		// Who tells something of it has it.
		j.Without = slices.DeleteFunc(j.Without, func(n string) bool { return n == of.Name })
		err = j.lay(of, told, mark)
	}
	if err != nil {
		return nil, err
	}
	return write(head, f)
}

// Withdraw returns a shop's file without what it tells of one thing; nothing at all where
// the file then tells nothing.
func Withdraw(text []byte, of Thing) ([]byte, error) {
	f, head, err := amendedOf(text, "")
	if err != nil {
		return nil, err
	}
	j := f.joint(of.Joint)
	before := j.count()
	switch of.Kind {
	case KindWithout:
		j.Without = slices.DeleteFunc(j.Without, func(n string) bool { return n == of.Name })
	case KindBore:
		j.Bore = nil
	default:
		list, err := j.list(of.Kind)
		if err != nil {
			return nil, err
		}
		*list = slices.DeleteFunc(*list, func(p part) bool { return p.Name == of.Name })
	}
	if j.count() == before {
		return nil, fmt.Errorf("take back %s %q of joint %q: the file tells nothing of it", of.Kind, of.Name, of.Joint)
	}
	return write(head, f)
}

// Amendments returns what a shop's file tells, in its order.
func Amendments(text []byte) ([]Amendment, error) {
	f, _, err := amendedOf(text, "")
	if err != nil {
		return nil, err
	}
	var all []Amendment
	for _, j := range f.Joints {
		if len(j.Bore) > 0 {
			told := map[string]string{}
			for i, p := range j.Bore {
				for key, value := range p.texts() {
					told[fmt.Sprintf("%d %s", i+1, key)] = value
				}
			}
			all = append(all, Amendment{Thing{j.Name, KindBore, ""}, told})
		}
		for _, kind := range []string{KindEnd, KindSection, KindHole, KindSeat} {
			list, err := j.list(kind)
			if err != nil {
				return nil, err
			}
			for _, p := range *list {
				all = append(all, Amendment{Thing{j.Name, kind, p.Name}, p.texts()})
			}
		}
		for _, name := range j.Without {
			all = append(all, Amendment{Thing: Thing{j.Name, KindWithout, name}})
		}
	}
	return all, nil
}
