package text

import "bytes"

// doubt returns why the number just read, whose unsigned text is given, may be meant in
// another way, and moves past all of it.
func (s *scanner) doubt(text []byte) error {
	rest := s.line[s.at:]
	if n := dash(rest); n > 0 { // 12.3-
		s.at += n
		return ErrSign
	}
	if n, sure := thousands(text, rest); n > 0 && (sure || !s.chosen) { // 101 325 or 101'325
		s.at += n
		return ErrThousands
	}
	spaces := len(rest) - len(bytes.TrimLeft(rest, " "))
	if spaces == 0 {
		return nil
	}
	if _, n := exponent(rest[spaces:]); n > 0 && (spaces+n == len(rest) || !wordByte(rest[spaces+n])) { // 1.5 E3
		s.at += spaces + n
		return ErrExponent
	}
	return nil
}

// separators are what groups of thousands are parted with, beside commas and points:
// spaces of several widths and apostrophes. Two numbers are parted by spaces only.
var separators = [...]struct {
	text string
	sure bool
}{
	{" ", false}, {"\u00a0", false}, {"\u2009", false}, {"\u202f", false}, {"'", true}, {"’", true},
}

// thousands returns the length of what makes a number's text, with what follows, one of
// grouped digits; sure says that it cannot be two numbers.
func thousands(text, after []byte) (length int, sure bool) {
	if len(text) > 3 || bytes.IndexFunc(text, func(r rune) bool { return r < '0' || r > '9' }) >= 0 {
		return 0, false
	}
	for _, separator := range separators {
		n := len(separator.text)
		if len(after) < n+3 || string(after[:n]) != separator.text {
			continue
		}
		group := after[n:]
		if isDigit(group[0]) && isDigit(group[1]) && isDigit(group[2]) && (len(group) == 3 || !isDigit(group[3])) {
			return n + 3, separator.sure
		}
	}
	return 0, false
}
