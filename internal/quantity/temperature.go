package quantity

// Temperature is a thermodynamic temperature in kelvins.
type Temperature float64

// temperatureUnits are those in which people give temperatures.
var temperatureUnits = dimension{
	name:     "temperature",
	examples: "22.5C or 72F",
	tooLow:   "below absolute zero",
	shown:    []choice{{"°C", 0, 1e6}},
	units: []unit{
		{name: "K", also: []string{"kelvin"}},                                                   // SI
		{name: "°C", offset: 273.15, also: []string{"C", "degC", "celsius"}},                    // SP 811, exact
		{name: "°F", num: 5, den: 9, offset: 459.67, also: []string{"F", "degF", "fahrenheit"}}, // SP 811, exact
	},
}

func (t Temperature) dimension() *dimension { return &temperatureUnits }

// ParseTemperature reads a temperature with its unit, such as 22.5C, 72F or 295 K.
func ParseTemperature(text string) (Temperature, error) {
	si, err := temperatureUnits.parse(text)
	return Temperature(si), err
}

// String prints the temperature in the unit that suits its size, to six digits.
func (t Temperature) String() string { return temperatureUnits.format(float64(t)) }

// Format prints the temperature in a unit, to six digits.
func (t Temperature) Format(unit string) (string, error) {
	return temperatureUnits.formatIn(float64(t), unit)
}

// MarshalText prints the temperature so that it reads back exactly.
func (t Temperature) MarshalText() ([]byte, error) { return temperatureUnits.marshal(float64(t)) }

// UnmarshalText is [ParseTemperature].
func (t *Temperature) UnmarshalText(text []byte) error {
	parsed, err := ParseTemperature(string(text))
	if err != nil {
		return err
	}
	*t = parsed
	return nil
}

// FromCelsius returns the temperature of a number of degrees Celsius.
func FromCelsius(celsius float64) Temperature { return Temperature(celsius + 273.15) }

// Celsius returns the temperature in °C.
func (t Temperature) Celsius() float64 { return float64(t) - 273.15 }
