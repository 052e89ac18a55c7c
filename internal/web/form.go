package web

import (
	"errors"
	"net/http"
	"net/url"
	"strings"
	"unicode/utf8"
)

// A form's page is drawn by the same code whether it is empty, filled in from what is
// known, or refused: then it holds what was typed, and what is wrong stands beside its
// field.

// form is what stands in the fields of a form, and what is wrong with it.
type form struct {
	values url.Values
	faults map[string]string // by field
	// Whole says what is wrong with the form as a whole.
	Whole string
}

// Fault is one thing that is wrong with a form that was sent.
type Fault struct {
	Field string // its name; empty for the form as a whole
	Says  string // what was found, and what is wanted
}

func (f *Fault) Error() string {
	if f.Field == "" {
		return f.Says
	}
	return f.Field + ": " + f.Says
}

// newForm returns a form filled in with fields and values, in turn.
func newForm(pairs ...string) *form {
	f := &form{values: url.Values{}}
	for i := 0; i+1 < len(pairs); i += 2 {
		f.values.Set(pairs[i], pairs[i+1])
	}
	return f
}

// sent returns a form as it came. Of one that cannot be read, or is not in UTF-8, which
// browsers send to our pages, nothing is taken.
func sent(r *http.Request) *form {
	err := r.ParseForm()
	for _, values := range r.PostForm {
		if !utf8.ValidString(strings.Join(values, "")) {
			err = errors.New("not in UTF-8")
		}
	}
	if err != nil {
		return &form{values: url.Values{}, Whole: "What was sent could not be read: send it again."}
	}
	return &form{values: r.PostForm}
}

// Value of a field, without spaces around it.
func (f *form) Value(field string) string { return strings.TrimSpace(f.values.Get(field)) }

// All values of a field that may be chosen more than once.
func (f *form) All(field string) []string { return f.values[field] }

// Has reports whether a value was chosen of a field that may be chosen more than once.
func (f *form) Has(field, value string) bool {
	for _, v := range f.values[field] {
		if v == value {
			return true
		}
	}
	return false
}

// Fault says what is wrong with a field.
func (f *form) Fault(field string) string { return f.faults[field] }

// Any reports whether anything is wrong.
func (f *form) Any() bool { return f.Whole != "" || len(f.faults) > 0 }

// fault notes what is wrong with a field; the first counts.
func (f *form) fault(field, says string) {
	if f.faults == nil {
		f.faults = map[string]string{}
	}
	if f.faults[field] == "" {
		f.faults[field] = says
	}
}

// refuse takes over what is wrong from an error of what was asked for: each [*Fault] in it
// goes beside its field. It reports false of an error that no form can mend.
func (f *form) refuse(err error) bool {
	switch e := err.(type) {
	case nil:
		return false
	case *Fault:
		if e.Field == "" {
			f.Whole = e.Says
		} else {
			f.fault(e.Field, e.Says)
		}
		return true
	case interface{ Unwrap() []error }:
		all := true
		for _, one := range e.Unwrap() {
			all = f.refuse(one) && all
		}
		return all && f.Any()
	}
	return f.refuse(errors.Unwrap(err))
}

// fieldView is one field as drawn.
type fieldView struct {
	ID, Name, Label, Value, Fault, Hint string
	Kind                                string // area, choice, or empty: one line
	Type                                string // of a line, such as date
	List                                string // identity of the list of what may be meant
	Needed, First                       bool
	Choices                             []choice
}

// choice is what may be chosen for a field.
type choice struct{ Value, Name string }

// field draws a field of one line. Traits: needed, first (has the focus), area, hint=…,
// type=…, list=….
func field(f *form, name, label string, traits ...string) fieldView {
	v := fieldView{ID: "field-" + name, Name: name, Label: label, Value: f.values.Get(name), Fault: f.Fault(name)}
	for _, trait := range traits {
		key, value, _ := strings.Cut(trait, "=")
		switch key {
		case "needed":
			v.Needed = true
		case "first":
			v.First = true
		case "area":
			v.Kind = "area"
		case "hint":
			v.Hint = value
		case "type":
			v.Type = value
		case "list":
			v.List = value
		}
	}
	return v
}

// chosen draws a field of which one choice is made.
func chosen(f *form, name, label string, choices []choice, traits ...string) fieldView {
	v := field(f, name, label, traits...)
	v.Kind, v.Choices = "choice", choices
	return v
}
