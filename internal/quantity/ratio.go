package quantity

import "math"

// Ratio is a number without dimension, such as a relative uncertainty. It is the
// one quantity that may be written without a unit.
type Ratio float64

// ratioUnits are those in which people give ratios.
var ratioUnits = dimension{
	name:     "ratio",
	examples: "0.02 or 2 %",
	least:    math.Inf(-1),
	bare:     true,
	shown:    []choice{{"%", 1e-4, 10}},
	units: []unit{
		{name: ""},
		{name: "%", power: -2, also: []string{"percent"}}, // SP 811, 7.10.2
		{name: "‰", power: -3},
		{name: "ppm", power: -6},
	},
}

func (r Ratio) dimension() *dimension { return &ratioUnits }

// ParseRatio reads a ratio with its unit, such as 0.02 or 2 %.
func ParseRatio(text string) (Ratio, error) {
	si, err := ratioUnits.parse(text)
	return Ratio(si), err
}

// String prints the ratio in the unit that suits its size, to six digits.
func (r Ratio) String() string { return ratioUnits.format(float64(r)) }

// Format prints the ratio in a unit, to six digits.
func (r Ratio) Format(unit string) (string, error) { return ratioUnits.formatIn(float64(r), unit) }

// MarshalText prints the ratio so that it reads back exactly.
func (r Ratio) MarshalText() ([]byte, error) { return ratioUnits.marshal(float64(r)) }

// UnmarshalText is [ParseRatio].
func (r *Ratio) UnmarshalText(text []byte) error {
	parsed, err := ParseRatio(string(text))
	if err != nil {
		return err
	}
	*r = parsed
	return nil
}
