package quantity

import "math"

// Throughput is the flow through a leak, R_s·T·ṁ, in Pa·m³/s. It is the same on both
// sides of the leak. How many sccm it is depends on the temperature of the gas, how
// many cm³/min of air on the room's pressure; both conversions ask for it.
type Throughput float64

// throughputUnits are those in which people give throughputs.
var throughputUnits = dimension{
	name:     "throughput",
	examples: "4e-3Pa.m3/s or 0.04 mbar l/s",
	least:    math.Inf(-1),
	units:    throughputTable,
	hints: []hint{
		{"sccm", "it counts gas at a temperature that is not given here (use Pa·m³/s)"},
		{"ml/min", roomPressure}, {"cm3/min", roomPressure}, {"cc/min", roomPressure},
	},
}

const roomPressure = "a volume flow depends on the room's pressure (use sccm or Pa·m³/s)"

var throughputTable = []unit{
	{name: "Pa·m³/s", also: []string{"Pa m³ s-1"}},                          // SI
	{name: "mbar·l/s", power: -1},                                           // from mbar and litre, exact
	{name: "Torr·l/s", num: 101.325, den: 760},                              // from Torr and litre, exact
	{name: "atm·cm³/s", num: 101325, power: -6, also: []string{"atm cc/s"}}, // from atm and cm³, exact
	{name: "Pa·l/s", power: -3},                                             // from Pa and litre, exact
}

func (q Throughput) dimension() *dimension { return &throughputUnits }

// ParseThroughput reads a throughput with its unit, such as 4e-3Pa.m3/s or 0.04 mbar l/s.
func ParseThroughput(text string) (Throughput, error) {
	si, err := throughputUnits.parse(text)
	return Throughput(si), err
}

// String prints the throughput in the unit that suits its size, to six digits.
func (q Throughput) String() string { return throughputUnits.format(float64(q)) }

// Format prints the throughput in a unit, to six digits.
func (q Throughput) Format(unit string) (string, error) {
	return throughputUnits.formatIn(float64(q), unit)
}

// MarshalText prints the throughput so that it reads back exactly.
func (q Throughput) MarshalText() ([]byte, error) { return throughputUnits.marshal(float64(q)) }

// UnmarshalText is [ParseThroughput].
func (q *Throughput) UnmarshalText(text []byte) error {
	parsed, err := ParseThroughput(string(text))
	if err != nil {
		return err
	}
	*q = parsed
	return nil
}

// sccmAtZero is one sccm of gas at 0 °C in Pa·m³/s: 101 325 Pa · 1e-6 m³ / 60 s.
const sccmAtZero = 1.68875e-3

// zeroCelsius is 0 °C in K, where a standard cubic centimetre is at home.
const zeroCelsius = 273.15

// sccm returns one standard cubic centimetre a minute (0 °C, 101.325 kPa) of gas at
// a temperature as a throughput.
func sccm(gas Temperature) float64 { return sccmAtZero * float64(gas) / zeroCelsius }

// FromSCCM returns the throughput of gas at a temperature that carries x standard
// cubic centimetres (0 °C, 101.325 kPa) a minute.
func FromSCCM(x float64, gas Temperature) Throughput { return Throughput(x * sccm(gas)) }

// SCCM returns the throughput of gas at a temperature in standard cubic centimetres
// (0 °C, 101.325 kPa) a minute.
func (q Throughput) SCCM(gas Temperature) float64 { return float64(q) / sccm(gas) }

// cubicCentimetresPerMinute are in a m³/s.
const cubicCentimetresPerMinute = 60e6

// FromRoomFlow returns the throughput of x cm³/min of air at the room's pressure,
// at which the gas is counted.
func FromRoomFlow(x float64, room Pressure) Throughput {
	return Throughput(x * float64(room) / cubicCentimetresPerMinute)
}

// RoomFlow returns the throughput as cm³/min of air at the room's pressure.
func (q Throughput) RoomFlow(room Pressure) float64 {
	return float64(q) / float64(room) * cubicCentimetresPerMinute
}
