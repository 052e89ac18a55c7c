package quantity

import (
	"fmt"
	"slices"
	"strings"
)

// LeakUnit is the unit in which a shop wants to read leakage rates. The zero value
// is Pa·m³/s.
type LeakUnit uint8

const (
	// PascalCubicMetres is Pa·m³/s.
	PascalCubicMetres LeakUnit = iota
	// MillibarLitres is mbar·l/s.
	MillibarLitres
	// StandardCubicCentimetres is sccm: cm³/min of gas at 0 °C and 101.325 kPa.
	StandardCubicCentimetres
	// RoomCubicCentimetres is cm³/min of air at the room's pressure.
	RoomCubicCentimetres
)

var leakUnitNames = [...]struct {
	name string
	also []string
}{
	PascalCubicMetres:        {"Pa·m³/s", nil},
	MillibarLitres:           {"mbar·l/s", nil},
	StandardCubicCentimetres: {"sccm", nil},
	RoomCubicCentimetres:     {"cm³/min", []string{"ml/min", "cc/min"}},
}

// ParseLeakUnit finds a unit of leakage rate by its name.
func ParseLeakUnit(name string) (LeakUnit, error) {
	want := fold(name)
	names := make([]string, len(leakUnitNames))
	for i, u := range leakUnitNames {
		if fold(u.name) == want || slices.ContainsFunc(u.also, func(s string) bool { return fold(s) == want }) {
			return LeakUnit(i), nil
		}
		names[i] = u.name
	}
	return 0, fmt.Errorf("parse unit of leakage rate: unit %q is not known (use one of %s)", name, strings.Join(names, ", "))
}

// Of returns a throughput as a number of this unit, for gas at a temperature in a
// room at a pressure; sccm need the one, cm³/min the other.
func (u LeakUnit) Of(q Throughput, gas Temperature, room Pressure) float64 {
	switch u {
	case StandardCubicCentimetres:
		return q.SCCM(gas)
	case RoomCubicCentimetres:
		return q.RoomFlow(room)
	}
	if known, ok := throughputUnits.lookup(u.String()); ok {
		return known.fromSI(float64(q))
	}
	return float64(q)
}

// String returns the unit's name as it is printed behind a number.
func (u LeakUnit) String() string {
	if int(u) < len(leakUnitNames) {
		return leakUnitNames[u].name
	}
	return fmt.Sprintf("unit of leakage rate %d", uint8(u))
}

// MarshalText returns the unit's name.
func (u LeakUnit) MarshalText() ([]byte, error) { return []byte(u.String()), nil }

// UnmarshalText is [ParseLeakUnit].
func (u *LeakUnit) UnmarshalText(text []byte) error {
	parsed, err := ParseLeakUnit(string(text))
	if err != nil {
		return err
	}
	*u = parsed
	return nil
}
