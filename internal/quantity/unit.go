package quantity

import (
	"fmt"
	"strings"
)

// Unit is a unit of one quantity, as a shop chooses it for its screens. It reads
// and writes as text. The zero value is the SI unit.
type Unit[Q Quantity] struct{ unit *unit }

// ParseUnit finds a unit by its name, such as ParseUnit[Pressure]("inH2O").
func ParseUnit[Q Quantity](name string) (Unit[Q], error) {
	var q Q
	d := q.dimension()
	u, err := d.unitOf(strings.TrimSpace(name))
	if err != nil {
		return Unit[Q]{}, fmt.Errorf("parse unit of %s: %w", d.name, err)
	}
	return Unit[Q]{unit: u}, nil
}

func (u Unit[Q]) get() *unit {
	if u.unit != nil {
		return u.unit
	}
	var q Q
	return &q.dimension().units[0]
}

// Of returns a quantity as a number of this unit.
func (u Unit[Q]) Of(q Q) float64 { return u.get().fromSI(float64(q)) }

// Times returns the quantity that is a number of this unit.
func (u Unit[Q]) Times(x float64) Q { return Q(u.get().toSI(x)) }

// Format prints a quantity in this unit, to six digits.
func (u Unit[Q]) Format(q Q) string { return withUnit(number(u.Of(q), 6), u.get()) }

// String returns the unit's name as it is printed behind a number.
func (u Unit[Q]) String() string { return u.get().name }

// MarshalText returns the unit's name.
func (u Unit[Q]) MarshalText() ([]byte, error) { return []byte(u.String()), nil }

// UnmarshalText is [ParseUnit].
func (u *Unit[Q]) UnmarshalText(text []byte) error {
	parsed, err := ParseUnit[Q](string(text))
	if err != nil {
		return err
	}
	*u = parsed
	return nil
}
