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
