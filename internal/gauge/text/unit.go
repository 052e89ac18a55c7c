package text

import (
	"bytes"
	"strings"

	"boretight/internal/quantity"
	"boretight/internal/trace"
)

// pressureUnit is a unit of pressure.
type pressureUnit = quantity.Unit[quantity.Pressure]

// maxUnit is the longest spelling of a unit with what is behind it.
const maxUnit = 16

// unitCache remembers the last word that was looked up as a unit: it is the same on
// nearly every line.
type unitCache struct {
	word  [maxUnit]byte
	n     int
	found unitFound
}

// unitFound is what a word behind a number means.
type unitFound struct {
	unit    pressureUnit
	known   bool
	said    bool // whether it says what the pressure is measured against
	against trace.Kind
	foreign bool // a unit of something else
}

// unit returns the unit of the number at p, from the line or the options, or why it
// has none.
func (d *Decoder) unit(line []byte, p place) (pressureUnit, error) {
	after := line[p.end:]
	word := bytes.TrimLeft(after, " ")
	attached := len(word) == len(after) && len(word) > 0 && wordByte(word[0])
	found := d.unitWord.lookUp(unitText(word))
	switch told := d.options.Unit; {
	case found.foreign, attached && !found.known:
		return pressureUnit{}, ErrOtherUnit
	case found.said && found.against != d.options.Kind:
		return pressureUnit{}, ErrOtherKind
	case told == nil && !found.known:
		return pressureUnit{}, ErrNoUnit
	case told == nil:
		return found.unit, nil
	case found.known && !same(found.unit, *told):
		return pressureUnit{}, ErrOtherUnit
	default:
		return *told, nil
	}
}

// same reports whether two units are of one size: mbar and hPa are, Torr and mmHg are not
// quite.
func same(a, b pressureUnit) bool { return a == b || a.Times(1) == b.Times(1) }

// unitText returns what may be the unit at the start of a text: a word, or two as in
// in H2O, but not the name of the next value. A column that is the unit alone may
// follow a separator.
func unitText(text []byte) []byte {
	text = bytes.TrimLeft(text, " \t;,\x00\x02\x03)]\"'")
	if len(text) > 0 && (text[0] == '[' || text[0] == '(') {
		text = text[1:]
	}
	end := unitEnd(text)
	if end == 0 || label(text[end:]) || isDigit(text[0]) {
		return nil
	}
	if second := text[end:]; len(second) > 1 && second[0] == ' ' {
		if n := unitEnd(second[1:]); n > 0 && secondWord(second[1:1+n]) {
			end += 1 + n
		}
	}
	return text[:min(end, maxUnit)]
}

func unitEnd(text []byte) int {
	n := 0
	for n < len(text) && wordByte(text[n]) {
		n++
	}
	return n
}

// secondWord reports whether a word belongs to the unit before it.
func secondWord(word []byte) bool {
	for _, w := range [...]string{"H2O", "HG", "WC", "ABS", "A", "G"} {
		if len(w) == len(word) && equalFold(word, w) {
			return true
		}
	}
	return false
}

// lookUp tells what a word means.
func (c *unitCache) lookUp(word []byte) unitFound {
	if !bytes.Equal(c.word[:c.n], word) {
		c.n = copy(c.word[:], word)
		c.found = findUnit(word)
	}
	return c.found
}

func findUnit(word []byte) unitFound {
	if otherUnit(word) {
		return unitFound{foreign: true}
	}
	text := string(word)
	if u, err := quantity.ParseUnit[quantity.Pressure](text); err == nil {
		return unitFound{unit: u, known: true}
	}
	// psig, bara, kPa abs: the unit and what it is measured against.
	for _, suffix := range [...]struct {
		text    string
		against trace.Kind
	}{{" abs", trace.Absolute}, {"abs", trace.Absolute}, {"a", trace.Absolute}, {"g", trace.Gauge}} {
		base, ok := strings.CutSuffix(strings.ToLower(text), suffix.text)
		if !ok {
			continue
		}
		if u, err := quantity.ParseUnit[quantity.Pressure](base); err == nil {
			return unitFound{unit: u, known: true, said: true, against: suffix.against}
		}
	}
	return unitFound{}
}
