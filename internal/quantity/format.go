package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// format prints an SI value in the unit that suits its size, to six digits.
func (d *dimension) format(si float64) string {
	u := d.display(si)
	return withUnit(number(u.fromSI(si), 6), u)
}

// formatIn prints an SI value in a named unit, to six digits.
func (d *dimension) formatIn(si float64, spelling string) (string, error) {
	u, err := d.unitOf(strings.TrimSpace(spelling))
	if err != nil {
		return "", err
	}
	return withUnit(number(u.fromSI(si), 6), u), nil
}

// exact prints an SI value so that parse returns the very same float: in the unit
// that suits it when a number of at most 15 digits does that, else in the SI unit.
func (d *dimension) exact(si float64) string {
	u := d.display(si)
	for precision := 6; precision <= 15; precision++ {
		text := withUnit(number(u.fromSI(si), precision), u)
		if back, err := d.parse(text); err == nil && back == si {
			return text
		}
	}
	return withUnit(plain(si), &d.units[0])
}

func withUnit(number string, u *unit) string {
	if u.name == "" {
		return number
	}
	return number + " " + u.name
}

// number prints x to some significant digits, without idle zeros.
func number(x float64, precision int) string {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(x, 'e', precision-1, 64), 64)
	if err != nil { // rounding up the largest floats overflows
		rounded = x
	}
	return plain(rounded)
}

// plain prints x in the shortest form that keeps it, with an exponent only when
// the number would be hard to read without.
func plain(x float64) string {
	if m := math.Abs(x); m != 0 && (m < 1e-4 || m >= 1e7) {
		return shortExponent(strconv.FormatFloat(x, 'e', -1, 64))
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// shortExponent turns 3.9e-03 into 3.9e-3.
func shortExponent(text string) string {
	mantissa, exponent, found := strings.Cut(text, "e")
	if !found {
		return text
	}
	n, err := strconv.Atoi(exponent)
	if err != nil {
		return text
	}
	return mantissa + "e" + strconv.Itoa(n)
}

// unknown is printed for a number that is none.
const unknown = "unknown"

// Rounded prints a measured value and its uncertainty: the uncertainty to two
// significant digits and the value to the same place, as the GUM (JCGM 100, 7.2.6)
// asks. Both are in one unit, which the caller prints. Small and large results get
// one power of ten in common: ("3.940e-3", "0.040e-3").
//
// With an uncertainty of 0 the value has six digits; so it has with one that is
// negative or no finite number, which reads "unknown". A value that is no finite
// number reads "unknown" itself.
func Rounded(value, u float64) (valueText, uText string) {
	finite := !math.IsNaN(u) && !math.IsInf(u, 0) && u >= 0
	switch {
	case math.IsNaN(value) || math.IsInf(value, 0):
		return unknown, unknown
	case !finite:
		return number(value, 6), unknown
	case u == 0:
		return number(value, 6), "0"
	}
	power := commonPower(max(math.Abs(value), u))
	place := exponent(u, 2) - 1 // power of ten of the uncertainty's second digit
	return fixed(value, place, power), fixed(u, place, power)
}

// commonPower is the power of ten that is split off: 0 for magnitudes that read
// well without one.
func commonPower(magnitude float64) int {
	if e := exponent(magnitude, 6); e < -2 || e > 6 {
		return e
	}
	return 0
}

// exponent returns the power of ten of x's first digit after rounding to some
// significant digits, so that 0.0996 to two digits is 0.10 and not 0.100.
func exponent(x float64, precision int) int {
	_, text, _ := strings.Cut(strconv.FormatFloat(x, 'e', precision-1, 64), "e")
	e, err := strconv.Atoi(text)
	if err != nil {
		return 0
	}
	return e
}

// fixed prints x rounded to the given power of ten, with 10^power split off.
func fixed(x float64, place, power int) string {
	decimals := power - place
	scaled := shift(x, -power)
	if decimals < 0 { // the place lies left of the point: 46000 ± 12000
		scaled = shift(math.Round(shift(scaled, decimals)), -decimals)
		decimals = 0
	}
	text := strconv.FormatFloat(scaled, 'f', decimals, 64)
	if strings.Trim(text, "-0.") == "" {
		text = strings.TrimPrefix(text, "-")
	}
	if power != 0 {
		text += "e" + strconv.Itoa(power)
	}
	return text
}

// shift multiplies by a power of ten through the decimal text, so that 34.2 ml is
// the float nearest to 34.2e-6: multiplying floats would miss it now and then.
func shift(x float64, power int) float64 {
	if power == 0 {
		return x
	}
	mantissa, text, _ := strings.Cut(strconv.FormatFloat(x, 'e', -1, 64), "e")
	e, err := strconv.Atoi(text)
	if err != nil {
		return x * math.Pow10(power)
	}
	shifted, err := strconv.ParseFloat(mantissa+"e"+strconv.Itoa(e+power), 64)
	if err != nil {
		return x * math.Pow10(power)
	}
	return shifted
}

// marshal is exact for MarshalText; it refuses what could not be read back.
func (d *dimension) marshal(si float64) ([]byte, error) {
	if math.IsNaN(si) || math.IsInf(si, 0) {
		return nil, fmt.Errorf("write %s: %v is not a finite number", d.name, si)
	}
	return []byte(d.exact(si)), nil
}
