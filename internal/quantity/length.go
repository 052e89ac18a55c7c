package quantity

// Length is a length in metres, never negative.
type Length float64

// lengthUnits are those in which people give lengths.
var lengthUnits = dimension{
	name:     "length",
	examples: "9mm or 0.354in",
	tooLow:   "a length cannot be negative",
	shown:    []choice{{"mm", 1e-4, 1}, {"µm", 1e-9, 1e-4}},
	units: []unit{
		{name: "m"},             // SI
		{name: "cm", power: -2}, // SI prefix
		{name: "mm", power: -3}, // SI prefix
		{name: "µm", power: -6, also: []string{"micron"}},                                 // SI prefix
		{name: "in", num: 25.4, power: -3, also: []string{"inch", "inches"}},              // SP 811, exact
		{name: "thou", num: 25.4, power: -6, also: []string{"mil", "thousandth", "mils"}}, // SP 811: mil = 0.001 in, exact
	},
}

func (l Length) dimension() *dimension { return &lengthUnits }

// ParseLength reads a length with its unit, such as 9mm or 0.02 mm.
func ParseLength(text string) (Length, error) {
	si, err := lengthUnits.parse(text)
	return Length(si), err
}

// String prints the length in the unit that suits its size, to six digits.
func (l Length) String() string { return lengthUnits.format(float64(l)) }

// Format prints the length in a unit, to six digits.
func (l Length) Format(unit string) (string, error) { return lengthUnits.formatIn(float64(l), unit) }

// MarshalText prints the length so that it reads back exactly.
func (l Length) MarshalText() ([]byte, error) { return lengthUnits.marshal(float64(l)) }

// UnmarshalText is [ParseLength].
func (l *Length) UnmarshalText(text []byte) error {
	parsed, err := ParseLength(string(text))
	if err != nil {
		return err
	}
	*l = parsed
	return nil
}
