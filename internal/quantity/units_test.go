package quantity_test

import (
	"encoding/json"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"boretight/internal/quantity"
)

const (
	room    = quantity.Temperature(293.15)
	ambient = quantity.Pressure(98300)
)

func TestAShopsUnitsShowSIValues(t *testing.T) {
	t.Parallel()
	for unit, want := range map[quantity.PressureUnit]float64{
		"":                          2.5,
		quantity.Kilopascals:        2.5,
		quantity.Millibars:          25,
		quantity.CentimetresOfWater: 25.492905, // 2500/98.0665, NIST SP 811
		quantity.InchesOfWater:      10.036577, // 2500/249.08891, NIST SP 811
	} {
		assert.InEpsilon(t, want, unit.Of(2500), 1e-7, unit)
	}
	for unit, want := range map[quantity.LengthUnit]float64{"": 0.0508, quantity.Millimetres: 0.0508, quantity.Thousandths: 2} {
		assert.InEpsilon(t, want, unit.Of(50.8e-6), 1e-12, unit)
	}
	q := quantity.FromSCCM(2.5, room)
	for unit, want := range map[quantity.FlowUnit]float64{
		"":                      2.5,
		quantity.StandardFlow:   2.5,
		quantity.RoomFlow:       2.5 * 293.15 / 273.15 * 101325 / 98300, // the ideal gas law
		quantity.ThroughputFlow: 4.5310e-3,
	} {
		assert.InEpsilon(t, want, unit.Of(q, room, ambient), 1e-5, unit)
	}
}

func TestAllChoicesAreUnitsWithASymbolOfTheirOwn(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, u := range quantity.PressureUnits() {
		assert.NoError(t, u.Validate())
		assert.Equal(t, u.Symbol(), u.Unit().String())
		seen[u.Symbol()] = true
	}
	for _, u := range quantity.LengthUnits() {
		assert.NoError(t, u.Validate())
		assert.Equal(t, u.Symbol(), u.Unit().String())
		seen[u.Symbol()] = true
	}
	for _, u := range quantity.FlowUnits() {
		assert.NoError(t, u.Validate())
		seen[u.Symbol()] = true
	}
	assert.Len(t, seen, 9)
	var none quantity.Units
	assert.Equal(t, "kPa sccm mm", none.Pressure.Symbol()+" "+none.Flow.Symbol()+" "+none.Length.Symbol())
}

func TestAUnitThatIsNotOfferedIsRefusedWithThoseThatAre(t *testing.T) {
	t.Parallel()
	_, err := read[quantity.PressureUnit]("psi")
	require.EqualError(t, err, `choose unit of pressure: "psi" is not offered (use one of kPa, mbar, cmH2O, inH2O)`)
	_, err = read[quantity.FlowUnit]("slm")
	require.EqualError(t, err, `choose unit of flow: "slm" is not offered (use one of sccm, cm³/min, Pa·m³/s)`)
	_, err = read[quantity.LengthUnit]("furlong")
	require.EqualError(t, err, `choose unit of length: "furlong" is not offered (use one of mm, thou)`)
	assert.Error(t, quantity.PressureUnit("psi").Validate())
}

func TestAUnitIsKnownByItsOtherSpellings(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]quantity.FlowUnit{"cm3/min": quantity.RoomFlow, "Pa m3/s": quantity.ThroughputFlow, " SCCM ": quantity.StandardFlow, "": ""} {
		got, err := read[quantity.FlowUnit](text)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	got, err := read[quantity.PressureUnit]("in H₂O")
	require.NoError(t, err)
	assert.Equal(t, quantity.InchesOfWater, got)
}

func TestUnitsReadBackFromFiles(t *testing.T) {
	t.Parallel()
	units := quantity.Units{Pressure: quantity.InchesOfWater, Flow: quantity.RoomFlow, Length: quantity.Thousandths}
	text, err := json.Marshal(units)
	require.NoError(t, err)
	assert.JSONEq(t, `{"pressure":"inH2O","flow":"cm³/min","length":"thou"}`, string(text))
	var again quantity.Units
	require.NoError(t, json.Unmarshal(text, &again))
	assert.Equal(t, units, again)
	text, err = toml.Marshal(units)
	require.NoError(t, err)
	again = quantity.Units{}
	require.NoError(t, toml.Unmarshal(text, &again))
	assert.Equal(t, units, again)
	require.NoError(t, toml.Unmarshal([]byte("Pressure = \"in H2O\"\nFlow = \"cm3/min\"\nLength = \"ell\""), &again))
	assert.Equal(t, "inH2O cm³/min", again.Pressure.Symbol()+" "+again.Flow.Symbol(), "other spellings fill a string as they are")
	assert.InEpsilon(t, 60e6/98300, again.Flow.Of(1, room, ambient), 1e-12)
	require.NoError(t, again.Flow.Validate())
	require.Error(t, again.Length.Validate())
	assert.InEpsilon(t, 1000, again.Length.Of(1), 1e-12)
}

func TestAFormTakesABareNumberInTheShopsUnit(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]float64{
		"10": 2490.8891, " 10,0 ": 2490.8891, "-1": -249.08891, "−0,125": -249.08891 / 8, "1e1": 2490.8891,
		"2.5kPa": 2500, "2,5 kPa": 2500, "2,25e3 Pa": 2250, "0,025 bar": 2500,
	} {
		got, err := quantity.ParsePressureIn(text, quantity.InchesOfWater)
		require.NoError(t, err, text)
		assert.InEpsilon(t, want, float64(got), 1e-12, text)
	}
	length, err := quantity.ParseLengthIn("2,5", quantity.Thousandths)
	require.NoError(t, err)
	assert.InEpsilon(t, 63.5e-6, float64(length), 1e-12)
	length, err = quantity.ParseLengthIn("9", "")
	require.NoError(t, err)
	assert.InEpsilon(t, 9e-3, float64(length), 1e-12)
}

func TestALeakageRateIsTypedInAnyOfTheUnits(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]float64{
		"2,5": 2.5 * 98300 / 60e6, "2.5 cm3/min": 2.5 * 98300 / 60e6, "2.5 ml/min": 2.5 * 98300 / 60e6,
		"2.5 sccm": 2.5 * 1.68875e-3 * 293.15 / 273.15, "4e-3 Pa.m3/s": 4e-3, "0,004 Pa·m³/s": 4e-3,
	} {
		got, err := quantity.ParseLeakRateIn(text, quantity.RoomFlow, ambient)
		require.NoError(t, err, text)
		assert.InEpsilon(t, want, float64(got.At(room)), 1e-12, text)
	}
	limit, err := quantity.ParseLeakRateIn("2.5", "", ambient)
	require.NoError(t, err)
	assert.Equal(t, "2.5 sccm", limit.String(), "a limit in sccm stays one")
}

func TestWhatIsTypedIsRefusedWithWhatIsWanted(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"":          "no number",
		"much":      "no number",
		"2,500":     "write 2500 or 2.500",
		"2,500 kPa": "write 2500 or 2.500",
		"1.234,5":   "both a point and a comma",
		"1,234.5":   "both a point and a comma",
		"1,2,3":     "two commas",
		"2,":        "write 2.5, not 2,5",
		"2,5 miles": `unit "miles" is not known`,
		"5 6":       "two numbers",
	} {
		_, err := quantity.ParsePressureIn(text, quantity.Kilopascals)
		assert.ErrorContains(t, err, want, text)
	}
	_, err := quantity.ParseLengthIn("-2", quantity.Thousandths)
	require.EqualError(t, err, `parse length "-2 thou": a length cannot be negative`)
	_, err = quantity.ParseLeakRateIn("-2", "", ambient)
	assert.ErrorContains(t, err, "cannot be negative")
}

func TestWhatIsShownReadsBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(1e-6, 1e6).Draw(t, "x")
		flow := rapid.SampledFrom(quantity.FlowUnits()).Draw(t, "flow")
		assert.InEpsilon(t, x, flow.Of(flow.Times(x, room, ambient), room, ambient), 1e-12)
		pressure := rapid.SampledFrom(quantity.PressureUnits()).Draw(t, "pressure")
		p, err := quantity.ParsePressureIn(pressure.Unit().Format(quantity.Pressure(x)), quantity.Millibars)
		require.NoError(t, err)
		assert.InEpsilon(t, x, float64(p), 1e-5)
	})
}
