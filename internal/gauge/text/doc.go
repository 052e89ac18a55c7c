// Package text reads gauges that print a number on each line: multimeters with a
// pressure module, transmitters, manometers,
//
//	+0012.34 kPa
//	P=  12.3 Pa  T= 22.5 C
//	2026-03-02 10:11:12;-1,234E+02;mbar
//
// A [Decoder] is fed with the bytes as they come, in pieces of any size, and calls a
// [Handler] for each line. It knows no time: such gauges have no clock of their own,
// and when a line came is known to whoever read it.
//
// # Lines
//
// A line ends with LF, CR LF or CR. The first line is dropped, because a port is
// opened in the middle of one and the end of a number looks like a number. Blank
// lines do not count. A line of more than [MaxLine] bytes, with control characters
// (other than the NUL, STX and ETX that some gauges put around their lines) or with
// bytes that are no text is damaged; it costs bounded memory, and the next line is
// read.
//
// # Numbers
//
// A number is a decimal with optional sign, which may stand apart from it, and
// optional exponent. Digits within a word (P1=, H2O), times of day and dates are
// no numbers. NaN and infinities are refused, and so is what may be meant in two ways:
// a sign that is doubled, stands behind its number or in another column, an exponent
// behind a gap, and, without [Options.Field], a first number that has no unit on a line
// where a later one has a unit of pressure (a counter, a day). Numbers are counted from 1; a word in
// the stead of a number (over range, fault, NaN) and an empty column between commas or
// semicolons count too, so that what follows keeps its place.
//
// Over-range words (OL, 0.L, OVER, UNDER, OVERLOAD …, also with a sign), a limit behind
// > or <, and numbers of 9.9E37 and more, which bench instruments send for it, give a
// reading that is saturated; ERR, ERROR, FAULT, FAIL, a row of dashes and 9.91E37, which
// means not a number there, one that is faulty. The
// pressure of both is that of the reading before, and must not be used.
//
// # Commas
//
// On a line with a semicolon or a tab between its columns, a comma between digits is a
// decimal comma. On all others commas part columns. Where that is not certain (12,34 may
// be 12.34 or two numbers; 1,234.5 may be one number) the line is refused, unless
// [Options.Field] was chosen, which says that commas part columns, or
// [Options.DecimalComma] says the contrary. Digits are never taken as groups of
// thousands: where three of them follow a gap the line is refused unless
// [Options.Field] was chosen, and where they follow an apostrophe always.
//
// # Units
//
// A line's unit is the word after its number, with what it is measured against where it
// says that (psig, kPa abs, mbar(a)). Without [Options.Unit] each line must
// have one. With it, a line that has a unit of pressure other than that, a unit of
// something else (V, mA, °C, %), or a unit that says absolute where the gauge was said
// to measure gauge pressure (psia), or the contrary, is refused: one of both is wrong.
// Other words after a number separated by a space are passed over, and where unit and
// field are told so are letters in the next column, which are a status.
//
// # Allocation and concurrency
//
// Decoding allocates nothing, save where the unit changes from line to line. A
// Decoder belongs to one goroutine.
package text
