package quantity

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// parse reads a number with a unit of the dimension and returns its SI value.
func (d *dimension) parse(text string) (float64, error) {
	si, _, err := d.parseWithUnit(text)
	return si, err
}

// parseWithUnit is parse that also tells the unit that was written.
func (d *dimension) parseWithUnit(text string) (float64, *unit, error) {
	x, u, err := d.scan(text)
	if err != nil {
		return 0, nil, fmt.Errorf("parse %s %q: %w", d.name, text, err)
	}
	si := u.toSI(x)
	switch {
	case math.IsInf(si, 0):
		return 0, nil, fmt.Errorf("parse %s %q: number is too large", d.name, text)
	case si < d.least:
		return 0, nil, fmt.Errorf("parse %s %q: %s", d.name, text, d.tooLow)
	}
	return si, u, nil
}

// scan splits a text into its number and its unit.
func (d *dimension) scan(text string) (float64, *unit, error) {
	x, rest, err := scanNumber(strings.TrimSpace(text))
	if err != nil {
		return 0, nil, err
	}
	spelling := strings.TrimSpace(rest)
	if spelling == "" && d.bare {
		return x, &d.units[0], nil
	}
	u, err := d.unitOf(spelling)
	return x, u, err
}

// unitOf finds a unit by its spelling or says which there are.
func (d *dimension) unitOf(spelling string) (*unit, error) {
	if spelling == "" {
		return nil, fmt.Errorf("no unit (write for example %s)", d.examples)
	}
	if u, ok := d.lookup(spelling); ok {
		return u, nil
	}
	for _, h := range d.hints {
		if fold(h.unit) == fold(spelling) {
			return nil, fmt.Errorf("unit %q: %s", spelling, h.text)
		}
	}
	return nil, fmt.Errorf("unit %q is not known (use one of %s)", spelling, strings.Join(d.unitNames(), ", "))
}

func (d *dimension) unitNames() []string {
	var names []string
	for _, u := range d.units {
		if u.name != "" { // a bare number
			names = append(names, u.name)
		}
	}
	return names
}

var (
	errNoNumber   = errors.New("no number at its start (write digits with a point, such as 2.5)")
	errTwoNumbers = errors.New("two numbers (write one, thousands without a gap)")
)

// scanNumber reads a decimal number from the start of a text and returns what
// follows it.
func scanNumber(text string) (x float64, rest string, err error) {
	if unsigned, minus := strings.CutPrefix(text, "−"); minus { // the typographic minus
		text = "-" + unsigned
	}
	end := numberEnd(text)
	if end == 0 {
		return 0, "", errNoNumber
	}
	number, rest := text[:end], text[end:]
	if rest != "" && (isDigit(rest[0]) || rest[0] == '.' || rest[0] == ',') {
		return 0, "", commaOrJunk(number, rest)
	}
	if after := strings.TrimSpace(rest); after != "" && isDigit(after[0]) {
		return 0, "", errTwoNumbers
	}
	x, err = strconv.ParseFloat(number, 64)
	if err != nil { // the form is right, so only the range can be wrong
		return 0, "", fmt.Errorf("number %s is too large", number)
	}
	return x, rest, nil
}

// commaOrJunk says what is wrong with a number that goes on where it should end.
func commaOrJunk(number, rest string) error {
	if rest[0] != ',' {
		return fmt.Errorf("%q is not a number", number+rest[:1])
	}
	decimals := rest[1 : 1+digits(rest[1:])]
	whole := strings.TrimLeft(number, "+-")
	if len(decimals) == 3 && whole != "0" {
		return fmt.Errorf("a comma may mean two things (write %s%s or %s.%s, not %[1]s,%[2]s)", number, decimals, number, decimals)
	}
	if decimals == "" {
		return fmt.Errorf("a comma cannot stand in a number (write 2.5, not 2,5)")
	}
	return fmt.Errorf("decimal comma (write %s.%s, not %[1]s,%[2]s)", number, decimals)
}

// numberEnd returns the length of the longest decimal number at the start of a
// text, 0 when there is none. An e counts only when digits follow it.
func numberEnd(text string) int {
	i := 0
	if i < len(text) && (text[i] == '+' || text[i] == '-') {
		i++
	}
	whole := digits(text[i:])
	i += whole
	fraction := 0
	if i < len(text) && text[i] == '.' {
		fraction = digits(text[i+1:])
		if whole+fraction > 0 {
			i += 1 + fraction
		}
	}
	if whole+fraction == 0 {
		return 0
	}
	if i < len(text) && (text[i] == 'e' || text[i] == 'E') {
		j := i + 1
		if j < len(text) && (text[j] == '+' || text[j] == '-') {
			j++
		}
		if n := digits(text[j:]); n > 0 {
			i = j + n
		}
	}
	return i
}

// digits returns how many digits a text starts with.
func digits(text string) int {
	n := 0
	for n < len(text) && isDigit(text[n]) {
		n++
	}
	return n
}

func isDigit(b byte) bool { return '0' <= b && b <= '9' }

// spellings maps what keyboards and pens put into units to what the tables have:
// both code points of µ, superscripts and subscripts; signs for a product and gaps
// fall away.
var spellings = strings.NewReplacer(
	"µ", "u", "μ", "u",
	"³", "3", "^", "", "₂", "2", "⁻¹", "-1",
	"·", "", "⋅", "", "∙", "", "•", "", "*", "", ".", "",
	"º", "°", "℃", "°c", "℉", "°f",
)

// fold brings a spelling of a unit to the one form in which they are compared.
func fold(spelling string) string {
	return strings.Join(strings.Fields(spellings.Replace(strings.ToLower(spelling))), "")
}
