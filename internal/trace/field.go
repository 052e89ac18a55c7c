package trace

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// parseFinite reads a number as strconv does, without NaN, infinities and the
// forms of program source.
func parseFinite(field string) (float64, error) {
	field = strings.TrimSpace(field)
	if field == "" {
		return 0, errors.New("no value")
	}
	x, err := strconv.ParseFloat(field, 64)
	switch {
	case strings.ContainsAny(field, ","):
		return 0, fmt.Errorf("%s is not a number (write decimals with a point)", shortQuote(field))
	case errors.Is(err, strconv.ErrRange):
		return 0, fmt.Errorf("%s is too large", shortQuote(field))
	case err != nil || strings.ContainsAny(field, "xX_"):
		return 0, fmt.Errorf("%s is not a number", shortQuote(field))
	case math.IsNaN(x) || math.IsInf(x, 0):
		return 0, fmt.Errorf("%s is not a finite number", shortQuote(field))
	}
	return x, nil
}

// shortQuote quotes a field for a message, which need not carry all of a broken one.
func shortQuote(field string) string { return quoteAtMost(40, field) }

// quoteAtMost quotes the first runes of a text.
func quoteAtMost(most int, text string) string {
	if runes := []rune(text); len(runes) > most {
		text = string(runes[:most]) + "…"
	}
	return strconv.Quote(text)
}

// parseStatus reads one or two hex digits: spreadsheets make 4 of 04 when they save.
func parseStatus(field string) (Status, error) {
	field = strings.TrimSpace(field)
	bits, err := strconv.ParseUint(field, 16, 8)
	if err != nil || len(field) > 2 {
		return 0, fmt.Errorf("%s is not two hex digits (rename the column if it means something else)", shortQuote(field))
	}
	return Status(bits), nil
}

// maxTime bounds times on both sides: the last whole second that fits, 292 years.
const maxTime = math.MaxInt64 / time.Second * time.Second

const errTimeTooLarge = "%s is too large for a time in seconds"

// parseSeconds reads a time in seconds to the nanosecond. Plain decimals are read
// digit by digit: a float would lose nanoseconds from a month on, as in files whose
// clock counts from 1970.
func parseSeconds(field string) (time.Duration, error) {
	field = strings.TrimSpace(field)
	unsigned, negative := strings.CutPrefix(field, "-")
	whole, fraction, _ := strings.Cut(unsigned, ".")
	if !allDigits(whole) || !allDigits(fraction) || whole+fraction == "" {
		return parseFloatSeconds(field)
	}
	s, err := strconv.ParseInt(cmp.Or(whole, "0"), 10, 64)
	if err != nil || s >= int64(maxTime/time.Second) {
		return 0, fmt.Errorf(errTimeTooLarge, shortQuote(field))
	}
	const places = 9
	digits := (fraction + strings.Repeat("0", places+1))[:places+1]
	tenths, err := strconv.ParseInt(digits, 10, 64) // of nanoseconds
	if err != nil {
		return 0, fmt.Errorf("%s is not a number", shortQuote(field))
	}
	t := time.Duration(s)*time.Second + time.Duration((tenths+5)/10)
	if t >= maxTime { // rounded up to it
		return 0, fmt.Errorf(errTimeTooLarge, shortQuote(field))
	}
	if negative {
		t = -t
	}
	return t, nil
}

// parseFloatSeconds reads times with an exponent and says what is wrong with the
// rest.
func parseFloatSeconds(field string) (time.Duration, error) {
	x, err := parseFinite(field)
	if err != nil {
		return 0, err
	}
	ns := math.Round(x * 1e9)
	if math.Abs(ns) >= float64(maxTime) {
		return 0, fmt.Errorf(errTimeTooLarge, shortQuote(field))
	}
	return time.Duration(ns), nil
}

func allDigits(text string) bool { return strings.Trim(text, "0123456789") == "" }

// seconds prints a time as decimal seconds that [parseSeconds] reads back exactly.
func seconds(t time.Duration) string {
	sign, ns := "", uint64(t)
	if t < 0 {
		sign, ns = "-", -ns
	}
	text := fmt.Sprintf("%s%d.%09d", sign, ns/uint64(time.Second), ns%uint64(time.Second))
	return strings.TrimSuffix(strings.TrimRight(text, "0"), ".")
}
