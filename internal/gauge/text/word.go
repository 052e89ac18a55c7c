package text

import "bytes"

// standIns are the words that gauges print in the stead of a number, as commonly
// seen (no source lists them).
var standIns = [...]struct {
	word string
	what what
}{
	{"OL", saturated}, {"0L", saturated}, {"OFL", saturated}, {"UFL", saturated},
	{"OVER", saturated}, {"UNDER", saturated}, {"OVR", saturated}, {"OVLD", saturated},
	{"OVERLOAD", saturated}, {"OVERRANGE", saturated}, {"UNDERRANGE", saturated},
	{"OVERFLOW", saturated}, {"UNDERFLOW", saturated},
	{"ERR", faulty}, {"ERROR", faulty}, {"FAULT", faulty}, {"FAIL", faulty},
	{"NAN", notFinite}, {"INF", notFinite}, {"INFINITY", notFinite},
}

// stead returns the length of what stands in the stead of a number at the start of a
// text, 0 if nothing does.
func stead(text []byte) (int, what) {
	if n := overload(text); n > 0 && !label(text[n:]) {
		return n, saturated
	}
	if len(text) == 0 || !wordByte(text[0]) {
		return 0, 0
	}
	n := wordLength(text)
	if what, known := standIn(text[:n]); known && !label(text[n:]) {
		return n, what
	}
	return 0, 0
}

// overload returns the length of OL in the forms that the segments and the decimal
// points of a display give it: O.L, 0.L, .OL, 1.OL.
func overload(text []byte) int {
	var letters [4]byte
	n, count := 0, 0
	for ; n < len(text) && (text[n] == '.' || wordByte(text[n])); n++ {
		if text[n] == '.' {
			continue
		}
		if count == len(letters) {
			return 0
		}
		letters[count] = text[n]
		count++
	}
	for _, form := range [...]string{"OL", "0L", "1OL", "0OL"} {
		if len(form) == count && equalFold(letters[:count], form) {
			return n
		}
	}
	return 0
}

// beyond returns the length of a limit in the stead of a number: >20.00 says that the
// value lies beyond it. Numbers in angle brackets and behind arrows are
// none such.
func (s *scanner) beyond(text []byte) int {
	if len(text) == 0 || (text[0] != '>' && text[0] != '<') {
		return 0
	}
	if s.at > 0 && (s.line[s.at-1] == '-' || s.line[s.at-1] == '=') {
		return 0 // an arrow
	}
	from := len(text) - len(bytes.TrimLeft(text[1:], " "))
	from += signLength(text[from:])
	_, n := s.number(text[from:])
	if n == 0 || text[0] == '<' && from+n < len(text) && text[from+n] == '>' {
		return 0
	}
	return from + n
}

// noNumber moves past what old programs print behind a number that is none: 1.#INF,
// -1.#IND00, 1.#QNAN.
func (s *scanner) noNumber() bool {
	rest := s.line[s.at:]
	if len(rest) < 2 || rest[0] != '#' || !isLetter(rest[1]) {
		return false
	}
	s.at += 1 + wordLength(rest[1:])
	return true
}

// standIn finds a word in the list, in upper or lower case.
func standIn(word []byte) (what, bool) {
	for i := range standIns {
		if s := &standIns[i]; len(s.word) == len(word) && equalFold(word, s.word) {
			return s.what, true
		}
	}
	return 0, false
}

// equalFold compares a word with one in upper case without making a string.
func equalFold(word []byte, upper string) bool {
	for i, c := range word {
		if 'a' <= c && c <= 'z' {
			c -= 'a' - 'A'
		}
		if c != upper[i] {
			return false
		}
	}
	return true
}

// otherUnits are units that gauges with several columns print, of something else than
// pressure.
var otherUnits = [...][]byte{
	[]byte("V"), []byte("mV"), []byte("A"), []byte("mA"), []byte("C"), []byte("F"), []byte("K"),
	[]byte("°C"), []byte("°F"), []byte("\xB0C"), []byte("\xB0F"), []byte("degC"), []byte("degF"),
	[]byte("%"), []byte("%RH"), []byte("Hz"), []byte("Ohm"), []byte("s"), []byte("ms"), []byte("mm"), []byte("l"),
}

func otherUnit(word []byte) bool {
	for _, u := range otherUnits {
		if bytes.Equal(u, word) {
			return true
		}
	}
	return false
}
