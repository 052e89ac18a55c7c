package quantity

import (
	"fmt"
	"slices"
	"strings"
)

// Units are those in which a shop reads and types figures. They change nothing that
// is computed or kept, which is SI. The zero value is kPa, sccm and mm.
//
// A unit that was filled in by a decoder of TOML has not been asked whether it is
// offered: call Validate. Until then one that is not counts as the first that is.
type Units struct {
	Pressure PressureUnit `json:"pressure,omitzero"`
	Flow     FlowUnit     `json:"flow,omitzero"`
	Length   LengthUnit   `json:"length,omitzero"`
}

// PressureUnit is a shop's unit of pressure, by its symbol. The zero value is
// [Kilopascals].
type PressureUnit string

// The pressure units a shop chooses among. Columns of water are conventional: water
// of 1000 kg/m³ at standard gravity, as NIST SP 811, Appendix B.8, has them.
const (
	Kilopascals        PressureUnit = "kPa"
	Millibars          PressureUnit = "mbar"
	CentimetresOfWater PressureUnit = "cmH2O" // 98.0665 Pa
	InchesOfWater      PressureUnit = "inH2O" // 249.08891 Pa
)

// PressureUnits returns all choices, the default first.
func PressureUnits() []PressureUnit {
	return []PressureUnit{Kilopascals, Millibars, CentimetresOfWater, InchesOfWater}
}

// Symbol returns what is printed behind a number.
func (u PressureUnit) Symbol() string { return string(offered(u, PressureUnits())) }

// String is [PressureUnit.Symbol].
func (u PressureUnit) String() string { return u.Symbol() }

// Unit returns the unit itself.
func (u PressureUnit) Unit() Unit[Pressure] { return unitNamed[Pressure](u.Symbol()) }

// Of returns a pressure as a number of this unit.
func (u PressureUnit) Of(p Pressure) float64 { return u.Unit().Of(p) }

// Validate refuses what is not among the choices. Not chosen is no fault.
func (u PressureUnit) Validate() error { return new(u).UnmarshalText([]byte(u)) }

// MarshalText returns the symbol.
func (u PressureUnit) MarshalText() ([]byte, error) { return []byte(u.Symbol()), nil }

// UnmarshalText reads a symbol in any of its spellings; an empty text is the zero value.
func (u *PressureUnit) UnmarshalText(text []byte) error {
	return choose(u, "pressure", string(text), PressureUnits())
}

// LengthUnit is a shop's unit of small lengths, by its symbol. The zero value is
// [Millimetres].
type LengthUnit string

// The length units a shop chooses among.
const (
	Millimetres LengthUnit = "mm"
	Thousandths LengthUnit = "thou" // of an inch, 0.0254 mm exactly (NIST SP 811)
)

// LengthUnits returns all choices, the default first.
func LengthUnits() []LengthUnit { return []LengthUnit{Millimetres, Thousandths} }

// Symbol returns what is printed behind a number.
func (u LengthUnit) Symbol() string { return string(offered(u, LengthUnits())) }

// String is [LengthUnit.Symbol].
func (u LengthUnit) String() string { return u.Symbol() }

// Unit returns the unit itself.
func (u LengthUnit) Unit() Unit[Length] { return unitNamed[Length](u.Symbol()) }

// Of returns a length as a number of this unit.
func (u LengthUnit) Of(l Length) float64 { return u.Unit().Of(l) }

// Validate refuses what is not among the choices. Not chosen is no fault.
func (u LengthUnit) Validate() error { return new(u).UnmarshalText([]byte(u)) }

// MarshalText returns the symbol.
func (u LengthUnit) MarshalText() ([]byte, error) { return []byte(u.Symbol()), nil }

// UnmarshalText reads a symbol in any of its spellings; an empty text is the zero value.
func (u *LengthUnit) UnmarshalText(text []byte) error {
	return choose(u, "length", string(text), LengthUnits())
}

// unitNamed finds the unit of a symbol that is offered.
func unitNamed[Q Quantity](symbol string) Unit[Q] {
	var q Q
	u, _ := q.dimension().lookup(symbol)
	return Unit[Q]{unit: u}
}

// offered returns the choice that u spells, or the first. It is asked at every use,
// not when a unit is read, because decoders of TOML fill a string without asking
// UnmarshalText.
func offered[S ~string](u S, choices []S) S {
	if i := indexOf(string(u), choices); i >= 0 {
		return choices[i]
	}
	return choices[0]
}

// choose sets u to the choice that a text spells.
func choose[S ~string](u *S, quantity, text string, choices []S) error {
	if strings.TrimSpace(text) == "" {
		*u = ""
		return nil
	}
	i := indexOf(text, choices)
	if i < 0 {
		names := make([]string, len(choices))
		for i, c := range choices {
			names[i] = string(c)
		}
		return fmt.Errorf("choose unit of %s: %q is not offered (use one of %s)", quantity, text, strings.Join(names, ", "))
	}
	*u = choices[i]
	return nil
}

func indexOf[S ~string](text string, choices []S) int {
	if i := slices.Index(choices, S(text)); i >= 0 {
		return i
	}
	return slices.IndexFunc(choices, func(c S) bool { return fold(string(c)) == fold(text) })
}
