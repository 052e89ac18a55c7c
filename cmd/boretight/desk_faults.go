package main

import (
	"errors"
	"strings"
	"unicode/utf8"

	"boretight/internal/web"
)

// faultsByKey turns errors that begin with a key, as those of settings do, into faults
// beside the field of that name; field gives the name of a key's field, or nothing for
// what is of the form as a whole.
func faultsByKey(err error, field func(key string) string) error {
	var faults []error
	for _, one := range apart(err) {
		key, says, ok := strings.Cut(one.Error(), " = ")
		if k, rest, colon := strings.Cut(one.Error(), ": "); colon && (!ok || len(k) < len(key)) {
			key, says = k, rest
		}
		if name := field(key); name != "" {
			faults = append(faults, &web.Fault{Field: name, Says: said(errors.New(says))})
			continue
		}
		faults = append(faults, &web.Fault{Says: said(one)})
	}
	return errors.Join(faults...)
}

// apart returns the errors that one joins.
func apart(err error) []error {
	switch e := err.(type) {
	case nil:
		return nil
	case interface{ Unwrap() []error }:
		var all []error
		for _, one := range e.Unwrap() {
			all = append(all, apart(one)...)
		}
		return all
	}
	return []error{err}
}

// said is an error as a sentence for people.
func said(err error) string {
	text := err.Error()
	if text == "" {
		return ""
	}
	_, size := utf8.DecodeRuneInString(text)
	return strings.ToUpper(text[:size]) + strings.TrimSuffix(text[size:], ".") + "."
}
