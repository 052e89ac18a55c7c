package quantity

// Volume is a volume in cubic metres, never negative.
type Volume float64

// volumeUnits are those in which people give volumes.
var volumeUnits = dimension{
	name:     "volume",
	examples: "34.2ml or 35 cm3",
	tooLow:   "a volume cannot be negative",
	shown:    []choice{{"ml", 1e-7, 1e-3}, {"l", 1e-3, 1}, {"µl", 1e-12, 1e-7}},
	units: []unit{
		{name: "m³"}, // SI
		{name: "cm³", power: -6, also: []string{"cc", "ccm"}},             // SI prefix
		{name: "mm³", power: -9},                                          // SI prefix
		{name: "l", power: -3, also: []string{"litre", "liter", "dm3"}},   // SP 811: litre = 1 dm³, exact
		{name: "dl", power: -4},                                           // litre with prefix
		{name: "cl", power: -5},                                           // litre with prefix
		{name: "ml", power: -6},                                           // litre with prefix
		{name: "µl", power: -9},                                           // litre with prefix
		{name: "in³", num: 16.387064, power: -6, also: []string{"cu in"}}, // SP 811, 0.0254³, exact
	},
}

func (v Volume) dimension() *dimension { return &volumeUnits }

// ParseVolume reads a volume with its unit, such as 34.2ml.
func ParseVolume(text string) (Volume, error) {
	si, err := volumeUnits.parse(text)
	return Volume(si), err
}

// String prints the volume in the unit that suits its size, to six digits.
func (v Volume) String() string { return volumeUnits.format(float64(v)) }

// Format prints the volume in a unit, to six digits.
func (v Volume) Format(unit string) (string, error) { return volumeUnits.formatIn(float64(v), unit) }

// MarshalText prints the volume so that it reads back exactly.
func (v Volume) MarshalText() ([]byte, error) { return volumeUnits.marshal(float64(v)) }

// UnmarshalText is [ParseVolume].
func (v *Volume) UnmarshalText(text []byte) error {
	parsed, err := ParseVolume(string(text))
	if err != nil {
		return err
	}
	*v = parsed
	return nil
}
