package quantity

import (
	"fmt"
	"strings"
)

// ParseIn reads what was typed into a form beside which a unit stands: a number
// with a unit of its own counts in that, a bare one in the form's. A form, unlike a
// file, takes a decimal comma where it can mean nothing else: 2,5 but not 2,500.
func ParseIn[Q Quantity](text string, unit Unit[Q]) (Q, error) {
	var q Q
	si, _, err := q.dimension().parseTyped(text, unit.String())
	return Q(si), err
}

// ParsePressureIn is [ParseIn] with a shop's unit.
func ParsePressureIn(text string, unit PressureUnit) (Pressure, error) {
	return ParseIn(text, unit.Unit())
}

// ParseLengthIn is [ParseIn] with a shop's unit.
func ParseLengthIn(text string, unit LengthUnit) (Length, error) {
	return ParseIn(text, unit.Unit())
}

// ParseLeakRateIn is [ParseIn] for a leakage rate as people state one. What is told
// in cm³/min is counted at the room's pressure and so becomes a throughput.
func ParseLeakRateIn(text string, unit FlowUnit, ambient Pressure) (LeakRate, error) {
	amount, u, err := typedLeakUnits.parseTyped(text, unit.Symbol())
	switch {
	case err != nil:
		return LeakRate{}, err
	case u.name == roomUnit.name:
		return LeakRate{amount: float64(FromRoomFlow(amount, ambient))}, nil
	}
	return LeakRate{amount: amount, standard: isStandard(u)}, nil
}

// parseTyped is parseWithUnit for what was typed into a form.
func (d *dimension) parseTyped(text, bare string) (float64, *unit, error) {
	told, err := decimalPoint(strings.TrimSpace(text))
	if err != nil {
		return 0, nil, fmt.Errorf("parse %s %q: %w", d.name, text, err)
	}
	if _, rest, err := scanNumber(told); err == nil && strings.TrimSpace(rest) == "" {
		told += " " + bare
	}
	return d.parseWithUnit(told)
}

// decimalPoint turns the decimal comma of a text's number into a point. A comma that
// may part thousands stays, and is refused by whoever reads the number.
func decimalPoint(text string) (string, error) {
	end := strings.IndexFunc(text, func(r rune) bool { return !strings.ContainsRune("+-−0123456789.,", r) })
	if end < 0 {
		end = len(text)
	}
	whole, decimals, comma := strings.Cut(text[:end], ",")
	switch {
	case !comma:
		return text, nil
	case strings.Contains(text[:end], "."):
		return "", fmt.Errorf("%q has both a point and a comma (write one, thousands without a sign)", text[:end])
	case strings.Contains(decimals, ","):
		return "", fmt.Errorf("%q has two commas (write one, thousands without a sign)", text[:end])
	case decimals == "" || len(decimals) == 3 && strings.TrimLeft(whole, "+-−") != "0":
		return text, nil
	}
	return whole + "." + decimals + text[end:], nil
}
