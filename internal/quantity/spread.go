package quantity

import (
	"errors"
	"fmt"
	"strings"
)

var (
	errNegativeSpread = errors.New("an uncertainty cannot be negative")
	errBareSpread     = errors.New("no unit (write for example 2 %)")
)

// Spread is an uncertainty of a quantity as people state one: in the quantity's own
// units ("0.34ml", "0.5 K") or, for quantities whose zero is a true zero, relative
// to its value ("5 %"). The zero value is none.
type Spread[Q Quantity] struct {
	amount   float64 // SI, or percent when relative
	relative bool
}

// ParseSpread reads a spread with its unit; a bare number is refused, as it might
// mean either.
func ParseSpread[Q Quantity](text string) (Spread[Q], error) {
	s, err := parseSpread[Q](text)
	if err != nil {
		var q Q
		return Spread[Q]{}, fmt.Errorf("parse uncertainty of %s %q: %w", q.dimension().name, text, err)
	}
	return s, nil
}

func parseSpread[Q Quantity](text string) (Spread[Q], error) {
	var q Q
	d := q.dimension()
	x, rest, err := scanNumber(strings.TrimSpace(text))
	if err != nil {
		return Spread[Q]{}, err
	}
	if x < 0 {
		return Spread[Q]{}, errNegativeSpread
	}
	spelling := strings.TrimSpace(rest)
	if u, ok := d.lookup(spelling); ok && u.name != "" {
		return Spread[Q]{amount: u.difference(x)}, nil
	}
	if spelling == "%" && d.absolute() {
		return Spread[Q]{amount: x, relative: true}, nil
	}
	_, err = d.unitOf(spelling)
	if spelling == "" && d.absolute() && err != nil {
		err = fmt.Errorf("no unit (write a share of the value, such as 1%%, or an amount, for example %s)", d.examples)
	}
	if err == nil { // the unit without a name
		err = errBareSpread
	}
	return Spread[Q]{}, err
}

// absolute reports whether every unit of the dimension has the same zero, so that
// a percentage of a value has a meaning.
func (d *dimension) absolute() bool {
	for _, u := range d.units {
		if u.offset != 0 {
			return false
		}
	}
	return true
}

// Of returns the spread at a value of the quantity, never negative.
func (s Spread[Q]) Of(q Q) Q {
	if s.relative {
		return Q(s.amount / 100 * max(float64(q), -float64(q)))
	}
	return Q(s.amount)
}

// String prints the spread in % or in the SI unit, to six digits.
func (s Spread[Q]) String() string { return s.withUnit(number(s.amount, 6)) }

// MarshalText prints the spread so that it reads back exactly.
func (s Spread[Q]) MarshalText() ([]byte, error) { return []byte(s.withUnit(plain(s.amount))), nil }

func (s Spread[Q]) withUnit(number string) string {
	if s.relative {
		return number + " %"
	}
	var q Q
	return withUnit(number, &q.dimension().units[0])
}

// UnmarshalText is [ParseSpread].
func (s *Spread[Q]) UnmarshalText(text []byte) error {
	parsed, err := ParseSpread[Q](string(text))
	if err != nil {
		return err
	}
	*s = parsed
	return nil
}
