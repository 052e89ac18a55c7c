package quantity

// FlowUnit is a shop's unit of leakage rates, by its symbol. The zero value is
// [StandardFlow].
type FlowUnit string

// The flow units a shop chooses among.
const (
	// StandardFlow is sccm: cm³/min of gas counted at 0 °C and 101.325 kPa. It takes
	// the temperature of the gas.
	StandardFlow FlowUnit = "sccm"
	// RoomFlow is cm³/min of air at the room's pressure p_a: q/p_a. It takes the
	// room's pressure.
	RoomFlow FlowUnit = "cm³/min"
	// ThroughputFlow is Pa·m³/s, which takes neither.
	ThroughputFlow FlowUnit = "Pa·m³/s"
)

// FlowUnits returns all choices, the default first.
func FlowUnits() []FlowUnit { return []FlowUnit{StandardFlow, RoomFlow, ThroughputFlow} }

// Symbol returns what is printed behind a number.
func (u FlowUnit) Symbol() string { return string(offered(u, FlowUnits())) }

// String is [FlowUnit.Symbol].
func (u FlowUnit) String() string { return u.Symbol() }

// Of returns a throughput of gas at a temperature, in a room at a pressure, as a
// number of this unit.
func (u FlowUnit) Of(q Throughput, gas Temperature, ambient Pressure) float64 {
	switch offered(u, FlowUnits()) {
	case RoomFlow:
		return q.RoomFlow(ambient)
	case ThroughputFlow:
		return float64(q)
	default:
		return q.SCCM(gas)
	}
}

// Times returns the throughput that is a number of this unit; the inverse of
// [FlowUnit.Of].
func (u FlowUnit) Times(x float64, gas Temperature, ambient Pressure) Throughput {
	switch offered(u, FlowUnits()) {
	case RoomFlow:
		return FromRoomFlow(x, ambient)
	case ThroughputFlow:
		return Throughput(x)
	default:
		return FromSCCM(x, gas)
	}
}

// Validate refuses what is not among the choices. Not chosen is no fault.
func (u FlowUnit) Validate() error { return new(u).UnmarshalText([]byte(u)) }

// MarshalText returns the symbol.
func (u FlowUnit) MarshalText() ([]byte, error) { return []byte(u.Symbol()), nil }

// UnmarshalText reads a symbol in any of its spellings, such as cm3/min; an empty
// text is the zero value.
func (u *FlowUnit) UnmarshalText(text []byte) error {
	return choose(u, "flow", string(text), FlowUnits())
}
