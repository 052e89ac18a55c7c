// Package quantity gives physical quantities as types, for the edges of the
// program: what people type in flags and files, and what they read on screens.
// Inside the program quantities are SI floats; each type here is such a float, so
// float64(p) is pascals and Pressure(2500) is 2.5 kPa.
//
// Every type is read from text with its unit (ParsePressure("10 inH2O"), also as a
// flag and in files through UnmarshalText; for TOML see [Setting]) and a number without its
// unit is refused, as is a decimal comma, NaN and infinity. Spaces, case and the
// usual other spellings of a unit do not matter. MarshalText writes a text that
// reads back to the very same float; String rounds to six digits for people. In
// JSON a quantity is that text too: a contract that wants a bare number takes a
// float64.
//
// A leakage rate in sccm counts gas at a stated temperature, so it is not a
// [Throughput] until that temperature is known: see [LeakRate].
//
// Each unit is defined once, in the table beside its type. SP 811 is NIST Special
// Publication 811 (2008), Appendix B.8; where it rounds, the exact product it
// rounds is used.
package quantity

import (
	"cmp"
	"math"
)

// Quantity is any of the types that a table of units belongs to.
type Quantity interface {
	Pressure | Volume | Length | Temperature | Throughput | Ratio
	dimension() *dimension
}

// dimension is what is known of one kind of quantity.
type dimension struct {
	name     string   // as in "parse pressure"
	units    []unit   // the first is the SI unit
	shown    []choice // which unit a value is printed in; the SI unit where none fits
	examples string   // for whoever left the unit out
	least    float64  // the least value that has a meaning, SI
	tooLow   string   // what to say below it
	hints    []hint   // for units that are understood but cannot be used
	bare     bool     // a number without a unit counts as in the SI unit
}

// hint explains why a unit that people do write is refused.
type hint struct {
	unit string
	text string
}

// unit is one unit of a dimension: SI value = (number + offset)·num/den·10^power,
// where num and den left out are 1.
type unit struct {
	name     string // as it is printed
	num, den float64
	power    int
	offset   float64
	also     []string // further spellings; case, spaces, µ, ³ and · never matter
}

func (u *unit) toSI(x float64) float64 { return u.difference(x + u.offset) }

// difference is toSI for a difference of two values.
func (u *unit) difference(x float64) float64 {
	return shift(x*cmp.Or(u.num, 1)/cmp.Or(u.den, 1), u.power)
}

func (u *unit) fromSI(si float64) float64 {
	return shift(si, -u.power)*cmp.Or(u.den, 1)/cmp.Or(u.num, 1) - u.offset
}

// choice says that values of magnitude from low to below high (SI) are printed in
// a unit.
type choice struct {
	unit      string
	low, high float64
}

// display returns the unit a value is printed in.
func (d *dimension) display(si float64) *unit {
	for _, c := range d.shown {
		if m := math.Abs(si); c.low <= m && m < c.high {
			if u, ok := d.lookup(c.unit); ok {
				return u
			}
		}
	}
	return &d.units[0]
}

// lookup finds a unit by any of its spellings.
func (d *dimension) lookup(spelling string) (*unit, bool) {
	want := fold(spelling)
	for i := range d.units {
		u := &d.units[i]
		if fold(u.name) == want {
			return u, true
		}
		for _, other := range u.also {
			if fold(other) == want {
				return u, true
			}
		}
	}
	return nil, false
}
