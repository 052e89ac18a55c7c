package text

import (
	"bytes"
	"math"
)

// what says what stands in a number's place.
type what uint8

const (
	number    what = iota
	saturated      // a word for over or under range
	faulty         // a word for a fault, or a row of dashes
	notFinite      // NaN, an infinity, or more than a float holds
	empty          // nothing between two separators
)

// place is one number on a line, or what stands for it.
type place struct {
	what  what
	value float64
	end   int // where on the line what follows begins
}

// scanner goes over the places of one line.
type scanner struct {
	line  []byte
	comma comma
	at    int
	// fresh is true while nothing has come since the last separator or the start.
	fresh bool
}

// find returns the nth place, from 1, or the first that is not empty for 0.
func (s *scanner) find(n int) (place, bool) {
	s.fresh = true
	for count := 1; ; count++ {
		p, ok := s.next()
		switch {
		case !ok:
			return place{}, false
		case n == 0 && p.what == empty:
		case n == 0, count == n:
			return p, true
		}
	}
}

// next returns the next place.
func (s *scanner) next() (place, bool) {
	for s.at < len(s.line) {
		c := s.line[s.at]
		switch {
		case c == ';', c == ',' && s.comma == commaParts:
			wasFresh := s.fresh
			s.at++
			s.fresh = true
			if wasFresh {
				return place{what: empty, end: s.at}, true
			}
		case c == ' ', c == '\t', framing(c):
			s.at++
		default:
			s.fresh = false
			if p, ok := s.token(); ok {
				return p, true
			}
		}
	}
	return place{}, false
}

// token reads what begins here and moves past it; ok says that it counts as a place.
func (s *scanner) token() (p place, ok bool) {
	rest := s.line[s.at:]
	if n := dashes(rest); n > 1 {
		s.at += n
		// A row of dashes before a number or a word is an ornament.
		if s.at < len(s.line) && (wordByte(s.line[s.at]) || s.line[s.at] == '.') {
			return place{}, false
		}
		return place{what: faulty, end: s.at}, true
	}
	sign := signLength(rest)
	gap := 0
	if sign > 0 {
		gap = len(rest[sign:]) - len(bytes.TrimLeft(rest[sign:], " "))
	}
	body := rest[sign+gap:]
	if len(body) > 0 && wordByte(body[0]) {
		if w := wordLength(body); !label(body[w:]) {
			if what, known := standIn(body[:w]); known {
				s.at += sign + gap + w
				return place{what: what, end: s.at}, true
			}
		}
	}
	value, n := s.number(body)
	if n == 0 {
		s.skip(sign, gap, body)
		return place{}, false
	}
	s.at += sign + gap + n
	if s.joined() || label(s.line[s.at:]) { // 10:11:12, or 1: before the value of channel 1
		return place{}, false
	}
	if sign > 0 && rest[0] != '+' {
		value = -value
	}
	p = place{value: value, end: s.at}
	switch {
	case math.Abs(value) >= overflow && !math.IsInf(value, 0):
		p.what = saturated
	case math.IsInf(value, 0):
		p.what = notFinite
	}
	return p, true
}

// overflow is what bench instruments send for a value beyond their range (SCPI 1999,
// volume 1, 7.2.1.4: 9.9E37 for infinity).
const overflow = 9.9e37

// skip moves past what is no number: a word as a whole, else one character.
func (s *scanner) skip(sign, gap int, body []byte) {
	word := len(body) > 0 && wordByte(body[0])
	switch {
	case sign > 0 && (gap > 0 || !word):
		s.at += sign
		return
	case !word:
		s.at++
		return
	}
	s.at += sign + wordLength(body)
	for s.at+1 < len(s.line) && s.line[s.at] == '.' && isDigit(s.line[s.at+1]) {
		s.at += 1 + wordLength(s.line[s.at+1:]) // V1.2
	}
}

// joined reports whether the number just read goes on with a further one, as in times
// of day and dates, and moves past the whole.
func (s *scanner) joined() bool {
	joint := func(i int) bool {
		if i+1 >= len(s.line) || !isDigit(s.line[i+1]) {
			return false
		}
		c := s.line[i]
		return c == ':' || c == '/' || c == '-' || c == '.' || (c == ',' && s.comma != commaParts)
	}
	if !joint(s.at) {
		return false
	}
	for s.at < len(s.line) && (isDigit(s.line[s.at]) || joint(s.at) || s.line[s.at] == 'T' && s.at+1 < len(s.line) && isDigit(s.line[s.at+1])) {
		s.at++
	}
	return true
}

// dashes returns how many dashes a text begins with.
func dashes(text []byte) int {
	n := 0
	for n < len(text) && text[n] == '-' {
		n++
	}
	return n
}

// minus is the typographic minus.
var minus = []byte("−")

// signLength returns the length of the sign at the start of a text: plus, hyphen or
// the typographic minus.
func signLength(text []byte) int {
	switch {
	case len(text) > 0 && (text[0] == '+' || text[0] == '-'):
		return 1
	case bytes.HasPrefix(text, minus):
		return len(minus)
	}
	return 0
}

// wordByte reports whether c belongs to a word.
func wordByte(c byte) bool {
	return 'A' <= c && c <= 'Z' || 'a' <= c && c <= 'z' || isDigit(c) || c == '_' || c >= 0x80 || c == '%'
}

// wordLength returns the length of the word at the start of a text.
func wordLength(text []byte) int {
	n := 0
	for n < len(text) && wordByte(text[n]) && !bytes.HasPrefix(text[n:], minus) {
		n++
	}
	return max(n, 1)
}

// label reports whether what follows a word makes it the name of a value.
func label(after []byte) bool {
	after = bytes.TrimLeft(after, " ")
	return len(after) > 0 && (after[0] == '=' || after[0] == ':')
}
