package web

import (
	"net/http"
	"strings"
	"unicode"

	"boretight/internal/quantity"
)

// Catalog, limits, rig and set-up are the shop's books: what the bench goes by.

// absentView is what stands in place of a page that there is not.
type absentView struct {
	Frame frame
	What  string
	Why   string
	Back  link
}

// absent says that there is no such page, and where to look instead.
func (s *Site) absent(w http.ResponseWriter, r *http.Request, here, what, why string, back link) {
	s.renderAs(w, r, http.StatusNotFound, "book-absent", absentView{s.frame(r, what, here), what, why, back})
}

// withUnit puts the shop's unit behind a bare number, as people type it; all else stays.
func withUnit(text, symbol string) string {
	if text == "" || strings.ContainsFunc(text, func(c rune) bool { return unicode.IsLetter(c) || c == '[' || c == '"' }) {
		return text
	}
	return text + " " + symbol
}

// typedLength is a length as the shop's files have it: as it was typed, with a unit and a
// decimal point. What is no length stays, for whoever reads it to refuse.
func (s *Site) typedLength(text string) string {
	unit := s.shown().units.Length
	if l, err := quantity.ParseLengthIn(text, unit); err == nil && strings.Contains(text, ",") {
		if exact, err := l.MarshalText(); err == nil {
			return string(exact)
		}
	}
	return withUnit(text, unit.Symbol())
}
