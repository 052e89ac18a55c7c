package frames

import (
	"math"
	"strconv"
)

// exactDigits is the number of decimal digits that any float64 mantissa holds
// without rounding; up to here mantissa and power of ten are both exact and one
// division gives the nearest float64.
const exactDigits = 15

var powersOfTen = [exactDigits + 1]float64{
	1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
}

// parseDecimal reads a decimal number with an optional minus and no exponent, and
// refuses one whose magnitude exceeds limit. It cannot return NaN or an infinity.
func parseDecimal(field []byte, limit float64) (float64, bool) {
	digits, negative := field, false
	if len(digits) > 0 && digits[0] == '-' {
		digits, negative = digits[1:], true
	}
	var mantissa uint64
	count, fraction, point := 0, 0, false
	for _, c := range digits {
		switch {
		case '0' <= c && c <= '9':
			if count < exactDigits {
				mantissa = mantissa*10 + uint64(c-'0')
			}
			count++
			if point {
				fraction++
			}
		case c == '.' && !point:
			point = true
		default:
			return 0, false
		}
	}
	if count == 0 {
		return 0, false
	}
	if count > exactDigits {
		return parseLong(field, limit)
	}
	value := float64(mantissa) / powersOfTen[fraction]
	if negative {
		value = -value
	}
	return value, math.Abs(value) <= limit
}

// parseLong leaves a number of more digits than fit exactly to the standard
// library; the caller has checked that it holds nothing but sign, digits and point.
func parseLong(field []byte, limit float64) (float64, bool) {
	value, err := strconv.ParseFloat(string(field), 64)
	return value, err == nil && math.Abs(value) <= limit
}

// parseUint32 reads an unsigned decimal number of 32 bits, without sign.
func parseUint32(field []byte) (uint32, bool) {
	if len(field) == 0 || len(field) > 10 {
		return 0, false
	}
	var value uint64
	for _, c := range field {
		if c < '0' || c > '9' {
			return 0, false
		}
		value = value*10 + uint64(c-'0')
	}
	return uint32(value), value <= math.MaxUint32
}

// parseStatus reads the two hexadecimal digits of a reading's status.
func parseStatus(field []byte) (uint8, bool) {
	if len(field) != 2 {
		return 0, false
	}
	high, low := hexDigit(field[0], true), hexDigit(field[1], true)
	return uint8(high<<4 | low), high >= 0 && low >= 0
}
