package text

import (
	"bytes"
	"fmt"
	"strings"

	"boretight/internal/quantity"
	"boretight/internal/trace"
)

// scale is a unit of pressure, or a multiple of one.
type scale struct {
	unit  quantity.Unit[quantity.Pressure]
	times float64
}

func (s scale) pascals(x float64) float64 { return float64(s.unit.Times(x)) * s.times }

// same reports whether two units are of one size: mbar and hPa are, Torr and mmHg are not
// quite.
func (s scale) same(other scale) bool { return s == other || s.pascals(1) == other.pascals(1) }

// maxUnit is the longest spelling of a unit with what is behind it.
const maxUnit = 32

// unitCache remembers the last word that was looked up as a unit: it is the same on
// nearly every line.
type unitCache struct {
	word  [maxUnit]byte
	n     int
	found unitFound
}

// unitFound is what a word behind a number means.
type unitFound struct {
	scale   scale
	known   bool
	said    bool // whether it says what the pressure is measured against
	against trace.Kind
	foreign bool // a unit of something else
	// The reasons with the word in them.
	noUnit, otherUnit error
}

// unit returns the unit of the number at p, from the line or the options, or why it has
// none; said says that the line has one of whatever it is.
func (d *Decoder) unit(line []byte, p place) (unit scale, said bool, err error) {
	after := line[p.end:]
	word, column := unitText(after)
	attached := len(after) > 0 && wordByte(after[0])
	found := d.unitWord.lookUp(word)
	if column && found.foreign && d.options.Unit != nil && d.options.Field > 0 {
		found = unitFound{} // a letter in the next column is a status
	}
	said = found.known || found.foreign
	switch told := d.options.Unit; {
	case found.foreign, attached && !found.known:
		return scale{}, said, found.otherUnit
	case found.said && found.against != d.options.Kind:
		return scale{}, said, ErrOtherKind
	case told == nil && !found.known:
		return scale{}, said, found.noUnit
	case told == nil:
		return found.scale, said, nil
	case found.known && !found.scale.same(scale{*told, 1}):
		return scale{}, said, found.otherUnit
	default:
		return scale{*told, 1}, said, nil
	}
}

// unitText returns what may be the unit at the start of a text: a word, or more as in
// in H2O abs, but not the name of the next value. A column that is the unit alone may
// follow a separator, which column tells.
func unitText(text []byte) (word []byte, column bool) {
	rest := bytes.TrimLeft(text, " \t;,\x00\x02\x03)]>\"'")
	column = bytes.ContainsAny(text[:len(text)-len(rest)], ";,\t")
	if len(rest) > 0 && (rest[0] == '[' || rest[0] == '(') {
		rest = rest[1:]
	}
	end := unitEnd(rest)
	if end == 0 || label(rest[end:]) || isDigit(rest[0]) {
		return nil, column
	}
	for range 2 { // mm Hg, mm Hg (abs)
		gap := unitGap(rest[end:])
		second := end + gap
		n := unitEnd(rest[second:])
		if gap == 0 || !secondWord(rest[second:second+n]) || label(rest[second+n:]) {
			break
		}
		end = second + n
	}
	return rest[:min(end, maxUnit)], column
}

func unitEnd(text []byte) int {
	n := 0
	for n < len(text) && wordByte(text[n]) {
		n++
	}
	return n
}

// unitGap returns the length of what parts the words of a unit: a space, a bracket, the
// point of an abbreviation.
func unitGap(text []byte) int {
	return len(text) - len(bytes.TrimLeft(text, " .()[]"))
}

// secondWord reports whether a word belongs to the unit before it.
func secondWord(word []byte) bool {
	for _, w := range [...]string{"H2O", "HG", "WC", "WS", "ABS", "ABSOLUTE", "A", "G", "GAUGE"} {
		if len(w) == len(word) && equalFold(word, w) {
			return true
		}
	}
	return false
}

// lookUp tells what a word means.
func (c *unitCache) lookUp(word []byte) unitFound {
	if c.found.noUnit == nil || !bytes.Equal(c.word[:c.n], word) {
		c.n = copy(c.word[:], word)
		c.found = findUnit(string(word))
		c.found.noUnit, c.found.otherUnit = ErrNoUnit, ErrOtherUnit
		if len(word) > 0 {
			c.found.noUnit = &unitError{ErrNoUnit, string(word)}
			c.found.otherUnit = &unitError{ErrOtherUnit, string(word)}
		}
	}
	return c.found
}

// unitError is a reason that names what the lines say.
type unitError struct {
	reason error
	word   string
}

// Error names the word.
func (e *unitError) Error() string { return fmt.Sprintf("%v (the lines say %q)", e.reason, e.word) }

// Unwrap returns the reason.
func (e *unitError) Unwrap() error { return e.reason }

// references are the ways to say what a pressure is measured against: psig, bara,
// kPa abs, mbar(a).
var references = [...]struct {
	text    string
	against trace.Kind
}{
	{"absolute", trace.Absolute}, {"abs", trace.Absolute}, {"a", trace.Absolute},
	{"gauge", trace.Gauge}, {"g", trace.Gauge},
}

func findUnit(word string) unitFound {
	if otherUnit([]byte(word)) {
		return unitFound{foreign: true}
	}
	text := strings.Join(strings.FieldsFunc(word, func(r rune) bool { return strings.ContainsRune(" .()[]", r) }), " ")
	if s, ok := scaleNamed(text); ok {
		return unitFound{scale: s, known: true}
	}
	for _, r := range references {
		base, ok := cutSuffixFold(text, r.text)
		if !ok {
			continue
		}
		if base == "" && len(r.text) > 1 { // 101.3 abs, of the unit told
			return unitFound{said: true, against: r.against}
		}
		if s, ok := scaleNamed(strings.TrimSpace(base)); ok {
			return unitFound{scale: s, known: true, said: true, against: r.against}
		}
	}
	return unitFound{}
}

func cutSuffixFold(text, suffix string) (string, bool) {
	at := len(text) - len(suffix)
	if at < 0 || !strings.EqualFold(text[at:], suffix) {
		return text, false
	}
	return text[:at], true
}

// multiple returns a unit that is written for other ranges than ours, in pascals, 0 if
// the name is none. The capital in MPa parts it from a thousandth of a pascal.
func multiple(name string) float64 {
	switch name {
	case "MPa":
		return 1e6
	case "daPa":
		return 10
	case "µbar", "μbar", "\xB5bar", "ubar":
		return 0.1
	}
	return 0
}

// scaleNamed finds a unit of pressure by its name.
func scaleNamed(name string) (scale, bool) {
	if times := multiple(name); times > 0 {
		return scale{times: times}, true
	}
	// Wassersäule, and the same in English.
	for _, water := range [...]string{"WS", "WC"} {
		if base, ok := cutSuffixFold(name, water); ok && !strings.EqualFold(strings.TrimSpace(base), "in") {
			name = base + "H2O"
		}
	}
	u, err := quantity.ParseUnit[quantity.Pressure](name)
	return scale{u, 1}, err == nil
}
