package ticket

import (
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// The longest that texts may be, in characters.
const (
	maxName    = 60   // of a template, joint, seat, maker, model, serial number
	maxPerson  = 120  // of a customer's name
	maxContact = 200  // address, telephone
	maxText    = 2000 // of what is written freely
	maxJoints  = 20
)

// Fault is what is wrong with one field of a form.
type Fault struct {
	// Field is the form's name of it.
	Field string
	// Says is what was found and what is wanted, in plain words without the field's name.
	Says string
}

// Error returns the field and what is wrong with it.
func (f *Fault) Error() string { return f.Field + ": " + f.Says }

// Faults returns the faults within an error, in their order; empty when it holds none.
func Faults(err error) []*Fault {
	if f, ok := err.(*Fault); ok { // not one further in: a wrapping may hold several
		return []*Fault{f}
	}
	var all []*Fault
	switch e := err.(type) {
	case interface{ Unwrap() []error }:
		for _, inner := range e.Unwrap() {
			all = append(all, Faults(inner)...)
		}
	case interface{ Unwrap() error }:
		all = Faults(e.Unwrap())
	}
	return all
}

// Validate returns all that keeps the ticket from being kept, as joined [Fault] errors, or
// nil. Fields are instrument, maker, model, serial, joints, customer, contact, complaint,
// condition, remark, closed. Whether the catalogue has the template and its joints is not
// looked at, nor is the work, see [Work.Validate].
func (t Ticket) Validate() error {
	var faults []error
	add := func(field, says string) {
		if says != "" {
			faults = append(faults, &Fault{field, says})
		}
	}
	add("instrument", required(t.Instrument.Template, "the name of an instrument in the catalogue"))
	add("instrument", line(t.Instrument.Template, maxName))
	add("maker", line(t.Instrument.Maker, maxName))
	add("model", line(t.Instrument.Model, maxName))
	add("serial", line(t.Instrument.Serial, maxName))
	add("joints", joints(t.Joints))
	add("customer", line(t.Customer.Name, maxPerson))
	add("contact", text(t.Customer.Contact, maxContact))
	add("complaint", text(t.Complaint, maxText))
	add("condition", text(t.Condition, maxText))
	add("remark", text(t.Remark, maxText))
	if !t.Open() && t.Closed.Before(t.Opened) {
		add("closed", fmt.Sprintf("closed on %s, which is before it was opened; want a later time", t.Closed.Format("2 January 2006 15:04")))
	}
	return errors.Join(faults...)
}

// Validate returns what keeps the work from being kept, as joined [Fault] errors of the
// fields did, joint and seat, or nil.
func (w Work) Validate() error {
	var faults []error
	add := func(field, says string) {
		if says != "" {
			faults = append(faults, &Fault{field, says})
		}
	}
	add("did", required(w.Did, "what was done"))
	add("did", text(w.Did, maxText))
	add("joint", line(w.Joint, maxName))
	add("seat", line(w.Seat, maxName))
	return errors.Join(faults...)
}

// joints looks at the list of joints as a whole and at each name in it.
func joints(names []string) string {
	switch {
	case len(names) == 0:
		return "none chosen; want at least one joint to hold"
	case len(names) > maxJoints:
		return fmt.Sprintf("%d joints; want at most %d", len(names), maxJoints)
	}
	seen := make(map[string]bool, len(names))
	for _, n := range names {
		if says := required(n, "the joint's name"); says != "" {
			return says
		}
		if says := line(n, maxName); says != "" {
			return says
		}
		if seen[n] {
			return fmt.Sprintf("%s is there twice; want each joint once", n)
		}
		seen[n] = true
	}
	return ""
}

func required(s, want string) string {
	if strings.TrimSpace(s) == "" {
		return "nothing given; want " + want
	}
	return ""
}

// line looks at what fits one line.
func line(s string, longest int) string { return written(s, longest, "") }

// text looks at what may have several lines.
func text(s string, longest int) string { return written(s, longest, "\n\r\t") }

func written(s string, longest int, allowed string) string {
	if !utf8.ValidString(s) {
		return "holds bytes that are no text; want plain text (UTF-8)"
	}
	if n := utf8.RuneCountInString(s); n > longest {
		return fmt.Sprintf("%d characters; want at most %d", n, longest)
	}
	for _, r := range s {
		if !unicode.IsPrint(r) && !unicode.IsSpace(r) || unicode.IsControl(r) && !strings.ContainsRune(allowed, r) {
			return fmt.Sprintf("holds the unprintable character %U; want letters, digits and signs", r)
		}
	}
	return ""
}
