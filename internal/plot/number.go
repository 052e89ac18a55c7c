package plot

import (
	"math"
	"strconv"
	"strings"
)

// labels writes a row of ticks, all with the same decimals, and the power of ten
// taken out of them, 0 when none had to be.
func (r row) labels() (texts []string, power int) {
	values := r.values()
	var most float64
	for _, v := range values {
		most = max(most, math.Abs(v))
	}
	// Five digits before the point and three behind it are read at a glance.
	if most >= 1e5 || most > 0 && most < 0.01 {
		power = 3 * int(math.Floor(math.Log10(most)/3+1e-9))
	}
	decimals := max(0, power-r.power)
	if r.digit == 0 {
		decimals = 3
	}
	for _, v := range values {
		texts = append(texts, number(v/math.Pow10(power), min(decimals, 12)))
	}
	return texts, power
}

// number writes v with a true minus sign, and nought without any.
func number(v float64, decimals int) string {
	if !finite(v) {
		return "—"
	}
	text := strconv.FormatFloat(v, 'f', decimals, 64)
	digits, negative := strings.CutPrefix(text, "-")
	if negative && strings.Trim(digits, "0.") != "" {
		return "−" + digits
	}
	return digits
}

// powered writes the factor that an axis was divided by before its unit.
func powered(unit string, power int) string {
	if power == 0 {
		return unit
	}
	const digits = "⁰¹²³⁴⁵⁶⁷⁸⁹"
	raised := strings.Map(func(r rune) rune {
		if r == '-' {
			return '⁻'
		}
		return []rune(digits)[r-'0']
	}, strconv.Itoa(power))
	return strings.TrimSuffix("10"+raised+" "+unit, " ")
}
