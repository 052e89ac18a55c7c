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
	doubtful       // a number that may be meant in two ways
)

// place is one number on a line, or what stands for it.
type place struct {
	what  what
	value float64
	end   int   // where on the line what follows begins
	why   error // it is doubtful
}

// scanner goes over the places of one line.
type scanner struct {
	line  []byte
	comma comma
	at    int
	// chosen says that the place of the number was told: gaps then part numbers.
	chosen bool
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
	if n := s.beyond(rest); n > 0 {
		s.at += n
		return place{what: saturated, end: s.at}, true
	}
	if n := dashes(rest); n > 0 {
		s.at += n
		return s.afterDashes()
	}
	sign := signLength(rest)
	gap := 0
	if sign > 0 {
		gap = len(rest[sign:]) - len(bytes.TrimLeft(rest[sign:], " \t"))
	}
	body := rest[sign+gap:]
	if n, what := stead(body); n > 0 {
		s.at += sign + gap + n
		return place{what: what, end: s.at}, true
	}
	value, n := s.number(body)
	if n == 0 {
		if sign > 0 && gap == 0 && signLength(body) > 0 { // +-12.3
			s.at += sign
			return s.afterDashes()
		}
		s.skip(sign, gap, body)
		return place{}, false
	}
	s.at += sign + gap + n
	switch {
	case s.noNumber():
		return place{what: notFinite, end: s.at}, true
	case s.joined(), label(s.line[s.at:]): // 10:11:12, or 1: before the value of channel 1
		return place{}, false
	}
	why := s.doubt(body[:n])
	if bytes.IndexByte(rest[:sign+gap], '\t') >= 0 {
		why = ErrSign
	}
	if sign > 0 && rest[0] != '+' {
		value = -value
	}
	return place{what: judge(value, why), value: value, why: why, end: s.at}, true
}

// afterDashes tells what follows more signs than one: alone they stand for a fault, a
// number behind them has a doubtful sign, and before a word they are an ornament.
func (s *scanner) afterDashes() (place, bool) {
	rest := s.line[s.at:]
	sign := signLength(rest)
	if _, n := s.number(rest[sign:]); n > 0 {
		s.at += sign + n
		return place{what: doubtful, why: ErrSign, end: s.at}, true
	}
	if len(rest) > 0 && wordByte(rest[0]) {
		return place{}, false
	}
	return place{what: faulty, end: s.at}, true
}

// judge tells what a number stands for.
func judge(value float64, why error) what {
	switch size := math.Abs(value); {
	case why != nil:
		return doubtful
	case size == notANumber:
		return faulty
	case math.IsInf(value, 0):
		return notFinite
	case size >= overflow:
		return saturated
	}
	return number
}

// What bench instruments send for a value beyond their range and for none (SCPI 1999,
// volume 1, 7.2.1.4 and 7.2.1.5: 9.9E37 for infinity, 9.91E37 for not a number).
const (
	overflow   = 9.9e37
	notANumber = 9.91e37
)

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
		if i+1 >= len(s.line) {
			return false
		}
		c := s.line[i]
		if c == '-' && isLetter(s.line[i+1]) {
			return true // 02-Mar-2026
		}
		if !isDigit(s.line[i+1]) {
			return false
		}
		return c == ':' || c == '/' || c == '-' || c == '.' || (c == ',' && s.comma != commaParts)
	}
	if !joint(s.at) {
		return false
	}
	for s.at < len(s.line) && (isDigit(s.line[s.at]) || joint(s.at) || isLetter(s.line[s.at]) && s.goesOn()) {
		s.at++
	}
	return true
}

// goesOn reports whether a letter within joined numbers belongs to them: the T between
// date and time, or the name of a month.
func (s *scanner) goesOn() bool {
	before := s.line[s.at-1]
	return before == '-' || isLetter(before) || s.line[s.at] == 'T' && s.at+1 < len(s.line) && isDigit(s.line[s.at+1])
}

// dashes returns the length of a row of two dashes or more, with the decimal points
// that displays leave between them, at the start of a text.
func dashes(text []byte) int {
	n, count := 0, 0
	for {
		d := dash(text[n:])
		if d == 0 && count > 0 && n < len(text) && text[n] == '.' {
			if d = dash(text[n+1:]); d > 0 {
				d++
			}
		}
		if d == 0 {
			break
		}
		n, count = n+d, count+1
	}
	if count < 2 {
		return 0
	}
	return n
}

// dash returns the length of the dash at the start of a text, of whatever length it is
// printed.
func dash(text []byte) int {
	for _, d := range [...]string{"-", "−", "–", "—"} {
		if len(text) >= len(d) && string(text[:len(d)]) == d {
			return len(d)
		}
	}
	return 0
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

func isLetter(c byte) bool { return 'A' <= c && c <= 'Z' || 'a' <= c && c <= 'z' }

// wordByte reports whether c belongs to a word.
func wordByte(c byte) bool {
	return isLetter(c) || isDigit(c) || c == '_' || c >= 0x80 || c == '%'
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
