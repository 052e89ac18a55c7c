package quantity

import "slices"

// LeakRate is a leakage rate as people state one, for example as a limit: either a
// throughput or a number of sccm, which becomes a throughput once the temperature
// of the gas is known. The zero value is no leak.
type LeakRate struct {
	amount   float64 // Pa·m³/s, or sccm when standard
	standard bool
}

// leakUnits are the units of throughput and, last, those that count standard gas.
var leakUnits = dimension{
	name:     "leakage rate",
	examples: "2.5sccm or 4e-3Pa.m3/s",
	tooLow:   "a leakage rate cannot be negative",
	units:    slices.Concat(throughputTable, standardTable),
	hints:    []hint{{"ml/min", roomPressure}, {"cm3/min", roomPressure}, {"cc/min", roomPressure}},
}

// standardTable counts in sccm: cm³/min of gas at 0 °C and 101.325 kPa. Other
// conventions of "standard" differ by up to 7 %; they are not offered.
var standardTable = []unit{
	{name: "sccm", also: []string{"scc/min", "sccpm"}},
	{name: "slm", power: 3, also: []string{"slpm", "sl/min"}},
}

// roomUnit counts gas at the room's pressure, which a form knows and a file does not.
var roomUnit = unit{name: "cm³/min", also: []string{"ml/min", "cc/min"}}

// typedLeakUnits are the units of a leakage rate where the room's pressure is known.
var typedLeakUnits = dimension{
	name:     leakUnits.name,
	examples: leakUnits.examples,
	tooLow:   leakUnits.tooLow,
	units:    slices.Concat(leakUnits.units, []unit{roomUnit}),
}

// ParseLeakRate reads a leakage rate with its unit, such as 2.5sccm or
// 4e-3Pa.m3/s. Negative ones are refused.
func ParseLeakRate(text string) (LeakRate, error) {
	amount, u, err := leakUnits.parseWithUnit(text)
	if err != nil {
		return LeakRate{}, err
	}
	return LeakRate{amount: amount, standard: isStandard(u)}, nil
}

// isStandard reports whether a unit counts standard gas.
func isStandard(u *unit) bool {
	return slices.ContainsFunc(standardTable, func(s unit) bool { return s.name == u.name })
}

// At returns the leakage rate as a throughput of gas at a temperature. One that was
// stated as a throughput does not depend on it.
func (r LeakRate) At(gas Temperature) Throughput {
	if r.standard {
		return FromSCCM(r.amount, gas)
	}
	return Throughput(r.amount)
}

// Standard reports whether it was stated in sccm, so that its throughput hangs on the
// temperature of the gas.
func (r LeakRate) Standard() bool { return r.standard }

// String prints the leakage rate in the unit it was stated in, sccm or Pa·m³/s.
func (r LeakRate) String() string { return number(r.amount, 6) + " " + r.unit() }

// MarshalText prints the leakage rate so that it reads back exactly.
func (r LeakRate) MarshalText() ([]byte, error) {
	return []byte(plain(r.amount) + " " + r.unit()), nil
}

// UnmarshalText is [ParseLeakRate].
func (r *LeakRate) UnmarshalText(text []byte) error {
	parsed, err := ParseLeakRate(string(text))
	if err != nil {
		return err
	}
	*r = parsed
	return nil
}

func (r LeakRate) unit() string {
	if r.standard {
		return standardTable[0].name
	}
	return throughputTable[0].name
}
