package web

import (
	"math"
	"strconv"
	"strings"
)

// expanded is U = 2u, the expanded uncertainty (k = 2; JCGM 100, 6.2.1): what stands
// behind ± wherever a person reads it.
func expanded(u float64) float64 { return 2 * u }

// measured is a value with its uncertainty, both written to the last digit
// that the uncertainty leaves meaning: two significant digits of u (JCGM 100, 7.2.6).
type measured struct{ Value, U string }

// written writes v and u. Without a usable u the value is not given either.
func written(v, u float64) measured {
	if !finite(v) || !finite(u) || u < 0 {
		return measured{"—", "not known"}
	}
	d := decimals(u)
	return measured{fixed(v, d), fixed(u, d)}
}

// decimals returns the number of decimals that shows two significant digits of u;
// negative when even whole numbers are too fine.
func decimals(u float64) int {
	if u == 0 {
		return 3
	}
	d := 1 - int(math.Floor(math.Log10(u)))
	// 0.0996 is 0.100 to two digits: one decimal less than its own logarithm says.
	if rounded := math.Round(u * math.Pow10(d)); rounded >= 100 {
		d--
	}
	return min(d, 9)
}

// fixed writes v with d decimals and a true minus sign; a negative d rounds to tens and beyond.
func fixed(v float64, d int) string {
	if d < 0 {
		step := math.Pow10(-d)
		v, d = math.Round(v/step)*step, 0
	}
	text := strconv.FormatFloat(v, 'f', d, 64)
	if digits, negative := strings.CutPrefix(text, "-"); negative {
		if strings.Trim(digits, "0.") == "" {
			return digits // no minus nought
		}
		return "−" + digits
	}
	return text
}

// powered writes "(3.940 ± 0.040) × 10⁻³": value and uncertainty under one power of ten.
func powered(v, u float64) string {
	if !finite(v) || !finite(u) {
		return "—"
	}
	size := max(math.Abs(v), math.Abs(u))
	if size == 0 {
		return "0 ± 0"
	}
	exponent := int(math.Floor(math.Log10(size)))
	m := written(v/math.Pow10(exponent), u/math.Pow10(exponent))
	return "(" + m.Value + " ± " + m.U + ") × 10" + raised(exponent)
}

// raised writes a whole number in superscript.
func raised(n int) string {
	const digits = "⁰¹²³⁴⁵⁶⁷⁸⁹"
	return strings.Map(func(r rune) rune {
		if r == '-' {
			return '⁻'
		}
		return []rune(digits)[r-'0']
	}, strconv.Itoa(n))
}

// percent writes a share in percent, to two digits below ten and in whole ones above.
func percent(share float64) string {
	switch p := 100 * share; {
	case !finite(p):
		return "—"
	case p < 0.1:
		return "< 0.1 %"
	case p < 9.95:
		return strconv.FormatFloat(p, 'f', 1, 64) + " %"
	default:
		return strconv.FormatFloat(p, 'f', 0, 64) + " %"
	}
}

// probability writes a probability so that it is never rounded to certainty.
func probability(p float64) string {
	switch {
	case !finite(p):
		return "not known"
	case p > 0.9995:
		return "> 0.999"
	case p < 0.0005:
		return "< 0.001"
	}
	return strconv.FormatFloat(p, 'f', 3, 64)
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
