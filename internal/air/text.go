package air

import "fmt"

// MarshalText writes the word of [Sign.String].
func (s Sign) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads "suction", "pressure" or "none".
func (s *Sign) UnmarshalText(text []byte) error {
	switch string(text) {
	case Suction.String():
		*s = Suction
	case Pressure.String():
		*s = Pressure
	case Sign(0).String():
		*s = 0
	default:
		return fmt.Errorf("read sign of a test: %q, want suction, pressure or none", text)
	}
	return nil
}
