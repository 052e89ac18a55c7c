package quantity_test

import (
	"encoding"
	"encoding/json"
	"math"
	"testing"

	"github.com/alecthomas/kong"
	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"boretight/internal/quantity"
)

// text is what flags, TOML and JSON need of a quantity.
type text[T any] interface {
	*T
	encoding.TextUnmarshaler
}

// read parses through the interface that flags and files use.
func read[T any, P text[T]](s string) (T, error) {
	var v T
	err := P(&v).UnmarshalText([]byte(s))
	return v, err
}

// Factors: NIST SP 811 (2008), Appendix B.8, to the digits printed there.
func TestPressureUnitsAgreeWithSP811(t *testing.T) {
	for name, want := range map[string]float64{
		"1 inH2O":  2.490889e2,
		"1 cmH2O":  9.80665e1,
		"1 mmH2O":  9.80665,
		"1 inHg":   3.386389e3,
		"1 mmHg":   1.333224e2,
		"1 Torr":   1.333224e2,
		"1 psi":    6.894757e3,
		"1 mbar":   1e2,
		"1 hPa":    1e2,
		"1 bar":    1e5,
		"1 atm":    1.01325e5,
		"1 kPa":    1e3,
		"1 Pa":     1,
		"10 inH2O": 2.490889e3,
	} {
		got, err := quantity.ParsePressure(name)
		require.NoError(t, err, name)
		assert.InEpsilon(t, want, float64(got), 5e-7, name)
	}
}

// Exact products behind the rounded factors of SP 811: 25.4 mm times conventional
// water or mercury, and the ratios of units that follow.
func TestPressureUnitsKeepExactProducts(t *testing.T) {
	parse := func(s string) float64 {
		p, err := quantity.ParsePressure(s)
		require.NoError(t, err, s)
		return float64(p)
	}
	assert.InEpsilon(t, 25.4*9.80665, parse("1 inH2O"), 1e-14)
	assert.InEpsilon(t, 25.4*13.5951*9.80665, parse("1 inHg"), 1e-12)
	assert.InEpsilon(t, 101325.0/760, parse("1 Torr"), 1e-14)
	assert.InEpsilon(t, 0.45359237*9.80665/(0.0254*0.0254), parse("1 psi"), 1e-12)
	assert.InDelta(t, 1.4247e-7, parse("1 mmHg")/parse("1 Torr")-1, 1e-11, "mmHg is not Torr")
	assert.InDelta(t, 27.6799047, parse("1 psi")/parse("1 inH2O"), 1e-7)
	assert.InDelta(t, 0.401463076, parse("1 mbar")/parse("1 inH2O"), 1e-9)
}

func TestWhatPeopleTypeIsRead(t *testing.T) {
	check := func(name string, got, want float64, err error) {
		t.Helper()
		if assert.NoError(t, err, name) {
			assert.InEpsilon(t, want, got, 1e-12, name)
		}
	}
	for s, want := range map[string]float64{
		"2.5kPa": 2500, "2.5 kPa": 2500, " 2.5  kpa ": 2500, "2.5KPA": 2500, "+2.5kPa": 2500, "-2.5kPa": -2500,
		"−2.5 kPa": -2500, "98.3kPa": 98300, "2.5e3Pa": 2500, "2.5E+3 Pa": 2500, ".5bar": 5e4, "5.bar": 5e5,
		"10 in H2O": 2490.8891, "10inH₂O": 2490.8891, "10 inh2o": 2490.8891, "10 in wc": 2490.8891,
	} {
		got, err := quantity.ParsePressure(s)
		check(s, float64(got), want, err)
	}
	for s, want := range map[string]float64{
		"34 ml": 34e-6, "34.2ml": 34.2e-6, "34.2 mL": 34.2e-6, "35cc": 35e-6, "35 cm3": 35e-6, "35 cm³": 35e-6,
		"35 cm^3": 35e-6, "1.3l": 1.3e-3, "1.3 L": 1.3e-3, "2dl": 2e-4, "5 µl": 5e-9, "5 μl": 5e-9, "5ul": 5e-9,
		"3.42e-5 m3": 3.42e-5, "2 in3": 2 * 0.0254 * 0.0254 * 0.0254,
	} {
		got, err := quantity.ParseVolume(s)
		check(s, float64(got), want, err)
	}
	for s, want := range map[string]float64{
		"9mm": 9e-3, "0.02 mm": 2e-5, "0.9 cm": 9e-3, "20 µm": 2e-5, "20um": 2e-5, "0.354 in": 0.354 * 0.0254,
		"2 thou": 5.08e-5, "2 mil": 5.08e-5, "1m": 1,
	} {
		got, err := quantity.ParseLength(s)
		check(s, float64(got), want, err)
	}
	for s, want := range map[string]float64{
		"22 °C": 295.15, "22C": 295.15, "22.5 c": 295.65, "22 ºC": 295.15, "22℃": 295.15, "22 deg C": 295.15, "-5C": 268.15,
		"71.6F": 295.15, "32 °F": 273.15, "295.15 K": 295.15, "0K": 0,
	} {
		got, err := quantity.ParseTemperature(s)
		if assert.NoError(t, err, s) {
			assert.InDelta(t, want, float64(got), 1e-10, s)
		}
	}
	for s, want := range map[string]float64{
		"4e-3Pa.m3/s": 4e-3, "4e-3 Pa·m³/s": 4e-3, "4e-3 Pa m3/s": 4e-3, "4e-3Pa*m^3/s": 4e-3, "4e-3 Pa·m³·s⁻¹": 4e-3,
		"0.04 mbar l/s": 4e-3, "0.04mbar·L/s": 4e-3, "1 Torr l/s": 0.13332236842105263, "1 atm cc/s": 0.101325,
	} {
		got, err := quantity.ParseThroughput(s)
		check(s, float64(got), want, err)
	}
	for s, want := range map[string]float64{"0.02": 0.02, "2 %": 0.02, "2%": 0.02, "5‰": 0.005, "300 ppm": 3e-4, "-1%": -0.01} {
		got, err := quantity.ParseRatio(s)
		check(s, float64(got), want, err)
	}
}

func TestFewDigitsBecomeTheNearestFloat(t *testing.T) {
	v, err := quantity.ParseVolume("34.2ml")
	require.NoError(t, err)
	assert.Equal(t, quantity.Volume(34.2e-6), v)
	p, err := quantity.ParsePressure("98.3kPa")
	require.NoError(t, err)
	assert.Equal(t, quantity.Pressure(98300), p)
}

func TestRefusalsSayWhatToWrite(t *testing.T) {
	for s, want := range map[string]string{
		"2,5kPa":       `parse pressure "2,5kPa": decimal comma (write 2.5, not 2,5)`,
		"1,000 Pa":     `parse pressure "1,000 Pa": a comma may mean two things (write 1000 or 1.000, not 1,000)`,
		"0,025 bar":    `parse pressure "0,025 bar": decimal comma (write 0.025, not 0,025)`,
		"2, kPa":       `parse pressure "2, kPa": a comma cannot stand in a number (write 2.5, not 2,5)`,
		"2500":         `parse pressure "2500": no unit (write for example 2.5kPa or 10 inH2O)`,
		"":             `parse pressure "": no number at its start (write digits with a point, such as 2.5)`,
		"kPa":          `parse pressure "kPa": no number at its start (write digits with a point, such as 2.5)`,
		"NaN Pa":       `parse pressure "NaN Pa": no number at its start (write digits with a point, such as 2.5)`,
		"inf Pa":       `parse pressure "inf Pa": no number at its start (write digits with a point, such as 2.5)`,
		"1e400 Pa":     `parse pressure "1e400 Pa": number 1e400 is too large`,
		"1e308 bar":    `parse pressure "1e308 bar": number is too large`,
		"1 000 Pa":     `parse pressure "1 000 Pa": two numbers (write one, thousands without a gap)`,
		"2.5.1 Pa":     `parse pressure "2.5.1 Pa": "2.5." is not a number`,
		"0x10 Pa":      `parse pressure "0x10 Pa": unit "x10 Pa" is not known (use one of Pa, hPa, kPa, mbar, bar, atm, mmH2O, cmH2O, inH2O, mmHg, inHg, Torr, psi)`,
		"3 furlong":    `parse pressure "3 furlong": unit "furlong" is not known (use one of Pa, hPa, kPa, mbar, bar, atm, mmH2O, cmH2O, inH2O, mmHg, inHg, Torr, psi)`,
		"2 mPa":        `parse pressure "2 mPa": unit "mPa" is not known (use one of Pa, hPa, kPa, mbar, bar, atm, mmH2O, cmH2O, inH2O, mmHg, inHg, Torr, psi)`,
		"2.5kPa 3 kPa": `parse pressure "2.5kPa 3 kPa": unit "kPa 3 kPa" is not known (use one of Pa, hPa, kPa, mbar, bar, atm, mmH2O, cmH2O, inH2O, mmHg, inHg, Torr, psi)`,
	} {
		_, err := quantity.ParsePressure(s)
		assert.EqualError(t, err, want, s)
	}
	for _, c := range []struct {
		err  error
		want string
	}{
		{second(quantity.ParseVolume("-3ml")), `parse volume "-3ml": a volume cannot be negative`},
		{second(quantity.ParseVolume("3")), `parse volume "3": no unit (write for example 34.2ml or 35 cm3)`},
		{second(quantity.ParseLength("-3mm")), `parse length "-3mm": a length cannot be negative`},
		{second(quantity.ParseTemperature("-274C")), `parse temperature "-274C": below absolute zero`},
		{second(quantity.ParseTemperature("20")), `parse temperature "20": no unit (write for example 22.5C or 72F)`},
		{second(quantity.ParseThroughput("2 sccm")), `parse throughput "2 sccm": unit "sccm": it counts gas at a temperature that is not given here (use Pa·m³/s)`},
		{second(quantity.ParseLeakRate("2 ml/min")), `parse leakage rate "2 ml/min": unit "ml/min": a volume flow depends on the room's pressure (use sccm or Pa·m³/s)`},
		{second(quantity.ParseLeakRate("-2 sccm")), `parse leakage rate "-2 sccm": a leakage rate cannot be negative`},
		{second(quantity.ParseLeakRate("2")), `parse leakage rate "2": no unit (write for example 2.5sccm or 4e-3Pa.m3/s)`},
	} {
		assert.EqualError(t, c.err, c.want)
	}
}

func second[T any](_ T, err error) error { return err }

func TestPrintingPicksAReadableUnit(t *testing.T) {
	for want, q := range map[string]interface{ String() string }{
		"2.5 kPa":         quantity.Pressure(2500),
		"101.325 kPa":     quantity.Pressure(101325),
		"16.6 Pa":         quantity.Pressure(16.6),
		"-2.71 kPa":       quantity.Pressure(-2710),
		"0 Pa":            quantity.Pressure(0),
		"34.2 ml":         quantity.Volume(34.2e-6),
		"1.3 l":           quantity.Volume(1.3e-3),
		"0.34 ml":         quantity.Volume(0.34e-6),
		"9 mm":            quantity.Length(9e-3),
		"20 µm":           quantity.Length(2e-5),
		"22.5 °C":         quantity.Temperature(295.65),
		"0.00394 Pa·m³/s": quantity.Throughput(3.94e-3),
		"4e-5 Pa·m³/s":    quantity.Throughput(4e-5),
		"5 %":             quantity.Ratio(0.05),
		"0":               quantity.Ratio(0),
	} {
		assert.Equal(t, want, q.String())
	}
}
func TestFormatTakesTheShopsUnit(t *testing.T) {
	got, err := quantity.Pressure(2490.8891).Format("inH2O")
	require.NoError(t, err)
	assert.Equal(t, "10 inH2O", got)
	got, err = quantity.Length(2.54e-5).Format("thou")
	require.NoError(t, err)
	assert.Equal(t, "1 thou", got)
	_, err = quantity.Pressure(1).Format("stone")
	assert.ErrorContains(t, err, `unit "stone" is not known (use one of Pa,`)

	unit, err := quantity.ParseUnit[quantity.Pressure]("cmH2O")
	require.NoError(t, err)
	assert.InEpsilon(t, 25.4929, unit.Of(2500), 1e-6)
	assert.InEpsilon(t, 2500, float64(unit.Times(unit.Of(2500))), 1e-15)
	assert.Equal(t, "25.4929 cmH2O", unit.Format(2500))
	assert.Equal(t, "Pa", quantity.Unit[quantity.Pressure]{}.String(), "the zero value is the SI unit")
	_, err = quantity.ParseUnit[quantity.Pressure]("mm")
	assert.ErrorContains(t, err, "parse unit of pressure")
}

func TestEveryQuantityFormatsInItsUnits(t *testing.T) {
	for unit, c := range map[string]struct {
		q    interface{ Format(string) (string, error) }
		want string
	}{
		"mbar":     {quantity.Pressure(2500), "25 mbar"},
		"cc":       {quantity.Volume(34.2e-6), "34.2 cm³"},
		"µm":       {quantity.Length(1e-3 / 3), "333.333 µm"},
		"°F":       {quantity.Temperature(295.15), "71.6 °F"},
		"mbar l/s": {quantity.Throughput(4e-3), "0.04 mbar·l/s"},
		"%":        {quantity.Ratio(0.0125), "1.25 %"},
	} {
		got, err := c.q.Format(unit)
		require.NoError(t, err, unit)
		assert.Equal(t, c.want, got)
		_, err = c.q.Format("furlong")
		assert.ErrorContains(t, err, `unit "furlong" is not known`)
	}
}

func TestCelsiusIsKelvinShifted(t *testing.T) {
	assert.InDelta(t, 295.65, float64(quantity.FromCelsius(22.5)), 1e-12)
	assert.InDelta(t, 22.5, quantity.Temperature(295.65).Celsius(), 1e-12)
}

// roundTrips checks that marshalling loses no bit, for any finite value.
func roundTrips[T interface {
	~float64
	MarshalText() ([]byte, error)
}, P text[T]](t *rapid.T, least, most float64) {
	want := T(rapid.Float64Range(least, most).Draw(t, "value"))
	out, err := want.MarshalText()
	require.NoError(t, err)
	got, err := read[T, P](string(out))
	require.NoError(t, err, string(out))
	assert.Equal(t, want, got, string(out))
}

func TestTextRoundTripsExactly(t *testing.T) {
	t.Run("pressure", rapid.MakeCheck(func(t *rapid.T) { roundTrips[quantity.Pressure](t, -1e7, 1e7) }))
	t.Run("volume", rapid.MakeCheck(func(t *rapid.T) { roundTrips[quantity.Volume](t, 0, 1) }))
	t.Run("length", rapid.MakeCheck(func(t *rapid.T) { roundTrips[quantity.Length](t, 0, 10) }))
	t.Run("temperature", rapid.MakeCheck(func(t *rapid.T) { roundTrips[quantity.Temperature](t, 0, 1000) }))
	t.Run("throughput", rapid.MakeCheck(func(t *rapid.T) { roundTrips[quantity.Throughput](t, -1, 1) }))
	t.Run("ratio", rapid.MakeCheck(func(t *rapid.T) { roundTrips[quantity.Ratio](t, -1e300, 1e300) }))
}

func TestTextKeepsTheUnitPeopleKnow(t *testing.T) {
	for _, want := range []string{"34.2 ml", "0.34 ml", "1.3 l"} {
		v, err := quantity.ParseVolume(want)
		require.NoError(t, err)
		got, err := v.MarshalText()
		require.NoError(t, err)
		assert.Equal(t, want, string(got))
	}
	temperature, err := quantity.ParseTemperature("22.3C")
	require.NoError(t, err)
	got, err := temperature.MarshalText()
	require.NoError(t, err)
	assert.Equal(t, "22.3 °C", string(got))
}

func TestNoTextForWhatIsNoNumber(t *testing.T) {
	_, err := quantity.Pressure(math.NaN()).MarshalText()
	assert.EqualError(t, err, "write pressure: NaN is not a finite number")
	_, err = json.Marshal(quantity.Volume(math.Inf(1)))
	assert.Error(t, err)
}

func TestQuantitiesAreFlagsAndKeys(t *testing.T) {
	var cli struct {
		Volume      quantity.Volume
		VolumeU     quantity.Spread[quantity.Volume]
		Ambient     quantity.Pressure `default:"101.325kPa"`
		At          quantity.Pressure
		Temperature *quantity.Temperature
		Limit       *quantity.LeakRate
		SpanU       quantity.Ratio
		Show        quantity.FlowUnit
	}
	parser, err := kong.New(&cli, kong.Name("fit"), kong.Exit(func(int) { t.Fatal("parser wants to exit") }))
	require.NoError(t, err)
	_, err = parser.Parse([]string{"--volume", "34.2ml", "--volume-u=0.34ml", "--at", "10 inH2O", "--temperature=-2C",
		"--limit", "2.5sccm", "--span-u", "0", "--show", "cm3/min"})
	require.NoError(t, err)
	assert.Equal(t, quantity.Volume(34.2e-6), cli.Volume)
	assert.InEpsilon(t, 0.34e-6, float64(cli.VolumeU.Of(cli.Volume)), 1e-15)
	assert.Equal(t, quantity.Pressure(101325), cli.Ambient)
	assert.Equal(t, quantity.Pressure(2490.8891), cli.At)
	assert.InEpsilon(t, 271.15, float64(*cli.Temperature), 1e-15)
	assert.Equal(t, "2.5 sccm", cli.Limit.String())
	assert.Equal(t, quantity.RoomFlow, cli.Show)
	_, err = parser.Parse([]string{"--at", "2,5kPa"})
	assert.ErrorContains(t, err, "decimal comma (write 2.5, not 2,5)")
}

func TestSettingsDemandTheirUnit(t *testing.T) {
	var file struct {
		At   quantity.Setting[quantity.Pressure]
		Unit quantity.Unit[quantity.Pressure]
	}
	require.NoError(t, toml.Unmarshal([]byte("at = '2.5 kPa'\nunit = 'inH2O'"), &file))
	assert.Equal(t, quantity.Pressure(2500), file.At.Value)
	assert.Equal(t, "inH2O", file.Unit.String())
	assert.Equal(t, "2.5 kPa", file.At.String())
	out, err := toml.Marshal(file)
	require.NoError(t, err)
	assert.Equal(t, "At = '2.5 kPa'\nUnit = 'inH2O'\n", string(out))
	for _, bare := range []string{"at = 2.5", "at = 2500"} {
		assert.ErrorContains(t, toml.Unmarshal([]byte(bare), &file), "no unit", "a bare number must not slip in as pascals")
	}
}

func FuzzParsePressure(f *testing.F) {
	for _, seed := range []string{"2.5kPa", "10 in H2O", "2,5", "−3e-2 mbar", "1e400Pa", "5e", "+.e1 Pa", "١Pa"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, s string) {
		p, err := quantity.ParsePressure(s)
		if err != nil {
			return
		}
		require.False(t, math.IsNaN(float64(p)) || math.IsInf(float64(p), 0), s)
		out, err := p.MarshalText()
		require.NoError(t, err)
		back, err := quantity.ParsePressure(string(out))
		require.NoError(t, err, string(out))
		require.Equal(t, p, back, string(out))
	})
}
