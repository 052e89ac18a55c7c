package text

import (
	"bytes"
	"errors"
	"math"
	"unicode/utf8"

	"boretight/internal/quantity"
	"boretight/internal/trace"
)

// MaxLine is the longest line in bytes, without its line end. Gauges that print
// every channel they have stay below it.
const MaxLine = 400

// limitPa bounds pressures: 100 bar, far beyond any sensor that could hang on a hose.
const limitPa = 1e7

// Options says how to read the lines. The zero value takes the first number of each
// line with the unit that follows it, as gauge pressure.
type Options struct {
	// Unit of the numbers, nil if each line says it.
	Unit *quantity.Unit[quantity.Pressure]
	// Field is the number to take from a line, from 1; 0 is the first.
	Field int
	// Negate turns the sign: for a gauge that shows vacuum as a positive number.
	Negate bool
	// DecimalComma makes every comma between digits a decimal comma.
	DecimalComma bool
	// Kind is what the pressures are measured against. It only decides which units
	// contradict it.
	Kind trace.Kind
}

// Sample is what a line says.
type Sample struct {
	// Pressure in pascals. Where Status is not usable it is the one before.
	Pressure float64
	// Status is 0, [trace.Saturated] or [trace.Faulty].
	Status trace.Status
}

// Handler takes what a [Decoder] finds, in the order of the stream.
type Handler interface {
	// Sample is called for each line that gives a reading.
	Sample(Sample)
	// Damaged is called for each line that does not, with the reason. The line took
	// its time on the wire, so its place in the row of samples is known.
	Damaged(reason error)
}

// The reasons for which a line is refused.
var (
	// ErrTooLong is the reason when a line end does not come.
	ErrTooLong = errors.New("the lines do not end: wrong baud rate?")
	// ErrNotText is the reason when a line holds bytes that no text has.
	ErrNotText = errors.New("the bytes are no text: wrong baud rate?")
	// ErrNoNumber is the reason when a line does not have the number asked for.
	ErrNoNumber = errors.New("no number on the lines: wrong baud rate, field or dialect?")
	// ErrNotFinite is the reason when the number is NaN, infinite or beyond any gauge.
	ErrNotFinite = errors.New("the number is none that a gauge can measure")
	// ErrComma is the reason when a comma may be a decimal comma or part two columns.
	ErrComma = errors.New("a comma between digits may mean two things: say field=1 if commas part columns, or decimal=comma")
	// ErrThousands is the reason when digits may be groups of thousands or two numbers.
	ErrThousands = errors.New("a gap or an apostrophe between digits may mean two things: say field=1 if gaps part columns, or set the gauge to print no groups of thousands")
	// ErrSign is the reason when a sign is doubled, stands behind its number or in
	// another column.
	ErrSign = errors.New("the sign of the number on the lines may mean two things: set the gauge to print one sign, before its number")
	// ErrExponent is the reason when what may be an exponent stands apart.
	ErrExponent = errors.New("an exponent apart from its number may mean two things: set the gauge to print it without a gap")
	// ErrWhichNumber is the reason when not the first number on the line has a unit of
	// pressure, but a later one.
	ErrWhichNumber = errors.New("a later number on the lines has the unit of pressure: say which is the pressure, such as field=2")
	// ErrNoUnit is the reason when neither the line nor the options have a unit.
	ErrNoUnit = errors.New("the numbers have no unit of pressure: say it, such as unit=kPa")
	// ErrOtherUnit is the reason when the line's unit is not the one in the options.
	ErrOtherUnit = errors.New("the unit on the lines is another than the one told: leave unit out, or choose another field")
	// ErrOtherKind is the reason when the line's unit says absolute and the options
	// say gauge, or the contrary.
	ErrOtherKind = errors.New("the unit on the lines contradicts whether the gauge measures absolute pressure: say kind=absolute or kind=gauge")
)

// Decoder turns bytes into samples. It is made by [NewDecoder] for a stream that is
// met at any point of any line.
type Decoder struct {
	options  Options
	kept     [MaxLine]byte
	n        int
	tooLong  bool
	past     bool // the first line end was seen
	last     float64
	unitWord unitCache // behind the number
	later    unitCache // behind the numbers after it
}

// NewDecoder returns a decoder.
func NewDecoder(o Options) *Decoder { return &Decoder{options: o} }

// Feed decodes the next bytes of the stream and calls h for each line they complete.
func (d *Decoder) Feed(chunk []byte, h Handler) {
	for {
		end := bytes.IndexAny(chunk, "\r\n")
		if end < 0 {
			d.keep(chunk)
			return
		}
		line, ok := d.finish(chunk[:end])
		chunk = chunk[end+1:]
		if first := !d.past; first {
			d.past = true
			continue
		}
		switch {
		case !ok:
			h.Damaged(ErrTooLong)
		case !blank(line):
			s, err := d.line(line)
			if err != nil {
				h.Damaged(err)
				continue
			}
			h.Sample(s)
		}
	}
}

func (d *Decoder) keep(part []byte) {
	copied := copy(d.kept[d.n:], part)
	d.n += copied
	d.tooLong = d.tooLong || copied < len(part)
}

// finish returns the whole line, of which part are the last bytes, and whether it is
// no longer than a line may be. The bytes are valid until the next call.
func (d *Decoder) finish(part []byte) (line []byte, ok bool) {
	if d.n == 0 && !d.tooLong {
		return part, len(part) <= MaxLine // the common case, without a copy
	}
	d.keep(part)
	line, ok = d.kept[:d.n], !d.tooLong
	d.n, d.tooLong = 0, false
	return line, ok
}

// line reads one line.
func (d *Decoder) line(line []byte) (Sample, error) {
	if !printable(line) {
		return Sample{}, ErrNotText
	}
	s := scanner{line: line, comma: d.comma(line), chosen: d.options.Field > 0}
	if s.comma == commaUnclear {
		return Sample{}, ErrComma
	}
	p, ok := s.find(d.options.Field)
	if !ok {
		return Sample{}, ErrNoNumber
	}
	switch p.what {
	case saturated:
		return Sample{Pressure: d.last, Status: trace.Saturated}, nil
	case faulty:
		return Sample{Pressure: d.last, Status: trace.Faulty}, nil
	case notFinite:
		return Sample{}, ErrNotFinite
	case empty:
		return Sample{}, ErrNoNumber
	case doubtful:
		return Sample{}, p.why
	}
	unit, said, err := d.unit(line, p)
	if !said && !s.chosen && d.unitLater(&s) {
		err = ErrWhichNumber
	}
	if err != nil {
		return Sample{}, err
	}
	pressure := unit.pascals(p.value)
	if d.options.Negate {
		pressure = -pressure
	}
	if pressure == 0 {
		pressure = 0 // no negative one
	}
	if !(math.Abs(pressure) <= limitPa) {
		return Sample{}, ErrNotFinite
	}
	d.last = pressure
	return Sample{Pressure: pressure}, nil
}

// unitLater reports whether a number after those scanned has a unit of pressure.
func (d *Decoder) unitLater(s *scanner) bool {
	for {
		p, ok := s.next()
		if !ok {
			return false
		}
		if word, _ := unitText(s.line[p.end:]); p.what == number && d.later.lookUp(word).known {
			return true
		}
	}
}

func blank(line []byte) bool {
	for _, c := range line {
		if c != ' ' && c != '\t' && !framing(c) {
			return false
		}
	}
	return true
}

// framing reports whether c is one of the control characters that gauges put around
// their lines.
func framing(c byte) bool { return c == 0 || c == 2 || c == 3 }

// Signs that gauges without UTF-8 send, in ISO 8859-1.
const (
	latinDegree = 0xB0
	latinMicro  = 0xB5
)

// printable reports whether a line is text.
func printable(line []byte) bool {
	for len(line) > 0 {
		r, size := utf8.DecodeRune(line)
		switch {
		case r == utf8.RuneError && size == 1 && line[0] != latinDegree && line[0] != latinMicro:
			return false
		case r < ' ' && r != '\t' && !framing(line[0]), r == 0x7F:
			return false
		}
		line = line[size:]
	}
	return true
}
