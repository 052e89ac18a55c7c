package sim

// Sign says to which side of ambient a joint is taken.
type Sign uint8

const (
	// Suction draws the bore below ambient.
	Suction Sign = iota
	// Pressure pumps it above.
	Pressure
)

// String returns "suction" or "pressure".
func (s Sign) String() string {
	if s == Pressure {
		return "pressure"
	}
	return "suction"
}

// bore is the absolute pressure in a bore that differs from ambient by delta.
func (s Sign) bore(ambient, delta float64) float64 {
	if s == Pressure {
		return ambient + delta
	}
	return ambient - delta
}

// ends returns the higher and the lower of the two pressures across a seat.
func (s Sign) ends(ambient, delta float64) (high, low float64) {
	if s == Pressure {
		return ambient + delta, ambient
	}
	return ambient, ambient - delta
}
