package quantity

import "math"

// Pressure is a pressure or a pressure difference in pascals. It does not know
// whether it is a gauge pressure or an absolute one: the name it is kept under says.
type Pressure float64

// pressureUnits are those in which people give pressures.
var pressureUnits = dimension{
	name:     "pressure",
	examples: "2.5kPa or 10 inH2O",
	least:    math.Inf(-1),
	shown:    []choice{{"kPa", 1e3, 1e9}},
	units: []unit{
		{name: "Pa"},                  // SI
		{name: "hPa", power: 2},       // SI prefix
		{name: "kPa", power: 3},       // SI prefix
		{name: "mbar", power: 2},      // SP 811: bar = 1e5 Pa, exact
		{name: "bar", power: 5},       // SP 811, exact
		{name: "atm", num: 101325},    // SP 811, standard atmosphere, exact
		{name: "mmH2O", num: 9.80665}, // SP 811, conventional water of 1000 kg/m³, exact
		{name: "cmH2O", num: 98.0665}, // SP 811, conventional, exact
		{name: "inH2O", num: 249.08891, also: []string{"inch H2O", "in wc"}}, // SP 811, conventional (not 4 °C, not 60 °F): 25.4 mmH2O, exact
		{name: "mmHg", num: 133.322387415},                                   // SP 811, conventional mercury of 13 595.1 kg/m³, exact
		{name: "inHg", num: 3386.388640341},                                  // SP 811, conventional: 25.4 mmHg, exact
		{name: "Torr", num: 101325, den: 760},                                // SP 811, exact; 1.4e-7 less than mmHg
		{name: "psi", num: 6894.757293168},                                   // SP 811: lbf/in², 0.45359237·9.80665/0.0254²
	},
}

func (p Pressure) dimension() *dimension { return &pressureUnits }

// ParsePressure reads a pressure with its unit, such as 2.5kPa or 10 inH2O.
func ParsePressure(text string) (Pressure, error) {
	si, err := pressureUnits.parse(text)
	return Pressure(si), err
}

// String prints the pressure in the unit that suits its size, to six digits.
func (p Pressure) String() string { return pressureUnits.format(float64(p)) }

// Format prints the pressure in a unit, to six digits.
func (p Pressure) Format(unit string) (string, error) {
	return pressureUnits.formatIn(float64(p), unit)
}

// MarshalText prints the pressure so that it reads back exactly.
func (p Pressure) MarshalText() ([]byte, error) { return pressureUnits.marshal(float64(p)) }

// UnmarshalText is [ParsePressure].
func (p *Pressure) UnmarshalText(text []byte) error {
	parsed, err := ParsePressure(string(text))
	if err != nil {
		return err
	}
	*p = parsed
	return nil
}
