package text

import (
	"bytes"
	"strconv"
)

// comma says what a comma between digits means on a line.
type comma uint8

const (
	commaParts   comma = iota // it parts columns
	commaDecimal              // it is a decimal comma
	commaUnclear
)

// comma decides for one line.
func (d *Decoder) comma(line []byte) comma {
	switch {
	case d.options.DecimalComma, bytes.IndexByte(line, ';') >= 0, bytes.IndexByte(line, '\t') >= 0:
		return commaDecimal
	case d.options.Field > 0:
		return commaParts
	}
	for rest := line; ; {
		i := bytes.IndexByte(rest, ',')
		if i < 0 {
			return commaParts
		}
		from, to := i, i+1
		for from > 0 && numeric(rest[from-1]) {
			from--
		}
		for to < len(rest) && numeric(rest[to]) {
			to++
		}
		if unclear(rest[from:to]) || from == i && to > i+1 && leads(rest[:i]) {
			return commaUnclear
		}
		rest = rest[to:]
	}
}

func numeric(c byte) bool { return isDigit(c) || c == '.' || c == ',' }

// leads reports whether a comma before a digit may be the point of a number without a
// digit before it, as in -,5: behind a sign, a gap or the name of a value.
func leads(before []byte) bool {
	if len(before) == 0 {
		return true
	}
	c := before[len(before)-1]
	return c == ' ' || c == '=' || c == ':' || signLength(before[len(before)-1:]) > 0 || bytes.HasSuffix(before, minus)
}

// unclear reports whether a run of digits, points and commas could be one number: one
// comma as the decimal comma, or commas or points between groups of three digits.
func unclear(run []byte) bool {
	run = bytes.Trim(run, ",.")
	commas, points := bytes.Count(run, []byte(",")), bytes.Count(run, []byte("."))
	switch {
	case commas == 0:
		return false
	case commas == 1 && points == 0:
		return true // 12,34
	case commas == 1 && bytes.LastIndexByte(run, '.') < bytes.IndexByte(run, ','):
		whole, _, _ := bytes.Cut(run, []byte(","))
		return grouped(whole, '.') // 1.234,5
	case points == 0:
		return grouped(run, ',') // 1,234,567
	case points == 1 && bytes.LastIndexByte(run, ',') < bytes.IndexByte(run, '.'):
		whole, _, _ := bytes.Cut(run, []byte("."))
		return grouped(whole, ',') // 1,234.5
	}
	return false
}

// grouped reports whether all groups but the first have three digits and the first
// has one to three.
func grouped(text []byte, separator byte) bool {
	first := true
	for {
		group, rest, more := bytes.Cut(text, []byte{separator})
		if len(group) > 3 || len(group) == 0 || (!first && len(group) != 3) {
			return false
		}
		if !more {
			return true
		}
		first, text = false, rest
	}
}

// exactDigits is the number of decimal digits that any float64 mantissa holds
// without rounding, and exactPower the greatest exact power of ten; within both, one
// multiplication or division gives the nearest float64.
const (
	exactDigits = 15
	exactPower  = 22
)

var powersOfTen = [exactPower + 1]float64{
	1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// number reads an unsigned decimal number from the start of a text and returns its
// length, 0 if there is none.
func (s *scanner) number(text []byte) (value float64, length int) {
	var mantissa uint64
	digits, significant, fraction, i := 0, 0, 0, 0
	point := false
	for ; i < len(text); i++ {
		c := text[i]
		if isDigit(c) {
			digits++
			if significant > 0 || c != '0' {
				significant++
			}
			if significant <= exactDigits {
				mantissa = mantissa*10 + uint64(c-'0')
			}
			if point {
				fraction++
			}
			continue
		}
		isPoint := c == '.' || (c == ',' && s.comma == commaDecimal && i+1 < len(text) && isDigit(text[i+1]))
		if !isPoint || point {
			break
		}
		point = true
	}
	if digits == 0 {
		return 0, 0
	}
	exponent, n := exponent(text[i:])
	i += n
	power := exponent - fraction
	if significant > exactDigits || power < -exactPower || power > exactPower {
		return parseLong(text[:i]), i
	}
	if power < 0 {
		return float64(mantissa) / powersOfTen[-power], i
	}
	return float64(mantissa) * powersOfTen[power], i
}

// exponent reads E+02 from the start of a text; without digits it is no exponent.
func exponent(text []byte) (value, length int) {
	if len(text) < 2 || (text[0] != 'e' && text[0] != 'E') {
		return 0, 0
	}
	i, negative := 1, false
	if text[1] == '+' || text[1] == '-' {
		negative = text[1] == '-'
		i++
	}
	from := i
	for ; i < len(text) && isDigit(text[i]); i++ {
		value = min(value*10+int(text[i]-'0'), 1000)
	}
	if i == from {
		return 0, 0
	}
	if negative {
		value = -value
	}
	return value, i
}

// parseLong leaves a number that does not fit exactly to the standard library; the
// form was checked. One that is too large comes back infinite.
func parseLong(digits []byte) float64 {
	value, _ := strconv.ParseFloat(string(bytes.ReplaceAll(digits, []byte(","), []byte("."))), 64)
	return value
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }
