package quantity

// Setting is a quantity in a configuration file. It is a struct because decoders of
// TOML fill a plain float from a bare number without asking UnmarshalText, so that
// "at = 2.5" would slip in as 2.5 Pa; a Setting refuses it for want of a unit.
type Setting[Q Quantity] struct{ Value Q }

// String prints the quantity as its own String does.
func (s Setting[Q]) String() string { return s.Value.dimension().format(float64(s.Value)) }

// MarshalText prints the quantity so that it reads back exactly.
func (s Setting[Q]) MarshalText() ([]byte, error) {
	return s.Value.dimension().marshal(float64(s.Value))
}

// UnmarshalText reads the quantity with its unit.
func (s *Setting[Q]) UnmarshalText(text []byte) error {
	si, err := s.Value.dimension().parse(string(text))
	if err != nil {
		return err
	}
	s.Value = Q(si)
	return nil
}
