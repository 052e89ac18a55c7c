package trace

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

// The columns of a trace file. A file has one of the two pressures.
const (
	columnTime        = "t_s"
	columnGauge       = "pressure_pa"
	columnAbsolute    = "absolute_pa"
	columnTemperature = "temperature_c"
	columnStatus      = "status"
)

const (
	// maxReadings is the most that is read from one file: 1 kHz for over an hour.
	maxReadings = 5_000_000

	// maxRecord bounds a record in bytes, so that a file without line ends or with a
	// quote that never closes does not fill the memory. Foreign files with many extra
	// columns stay well below.
	maxRecord = 64 << 10
)

// ErrTooLong is returned when a trace file has more readings or longer lines than
// any recording can have.
var ErrTooLong = errors.New("too long for a trace file")

// Read reads a trace file: comma-separated values as in RFC 4180 with a header, in
// which the columns t_s, and pressure_pa (gauge) or absolute_pa, must stand and
// temperature_c (°C, may be empty) and status (two hex digits) may, in any order,
// among others that are ignored. A byte-order mark and either line end are accepted.
// Times must rise from line to line; they are kept to the nanosecond. Errors name
// the line, counted from 1 with the header.
func Read(r io.Reader) (Trace, error) { return read(r, maxReadings) }

func read(r io.Reader, most int) (Trace, error) {
	text, err := openText(r)
	if err != nil {
		return Trace{}, fmt.Errorf("read trace: %w", err)
	}
	in := csv.NewReader(&recordLimiter{in: text})
	in.ReuseRecord = true
	in.FieldsPerRecord = -1 // checked here, so that the message can say more
	header, err := in.Read()
	switch {
	case errors.Is(err, io.EOF):
		return Trace{}, errors.New("read trace: file is empty (want a header with t_s and pressure_pa)")
	case err != nil:
		return Trace{}, fmt.Errorf("read trace: header: %w", csvError(err))
	}
	cols, err := readHeader(header)
	if err != nil {
		return Trace{}, fmt.Errorf("read trace: header: %w", err)
	}
	readings, err := readRows(in, cols, most)
	if err != nil {
		return Trace{}, fmt.Errorf("read trace: %w", err)
	}
	return Trace{Kind: cols.kind, Readings: readings}, nil
}

// columns says where in a row the fields stand, -1 for one that is absent.
type columns struct {
	time, pressure, temperature, status int
	kind                                Kind
	count                               int
}

func readHeader(header []string) (columns, error) {
	names := slices.Clone(header)
	for i := range names {
		names[i] = strings.TrimSpace(names[i])
	}
	if len(names) == 1 && strings.ContainsAny(names[0], ";\t") {
		return columns{}, errors.New("fields are separated by semicolons or tabs (save the file with commas between fields and a point in decimals)")
	}
	for _, name := range []string{columnTime, columnGauge, columnAbsolute, columnTemperature, columnStatus} {
		if first := slices.Index(names, name); first >= 0 && slices.Contains(names[first+1:], name) {
			return columns{}, fmt.Errorf("column %s stands twice", name)
		}
	}
	cols := columns{
		time:        slices.Index(names, columnTime),
		pressure:    slices.Index(names, columnGauge),
		temperature: slices.Index(names, columnTemperature),
		status:      slices.Index(names, columnStatus),
		count:       len(names),
	}
	absolute := slices.Index(names, columnAbsolute)
	switch {
	case cols.time < 0:
		return columns{}, fmt.Errorf("no column %s (found %s)", columnTime, listed(names))
	case cols.pressure >= 0 && absolute >= 0:
		return columns{}, fmt.Errorf("both %s and %s (keep one of them)", columnGauge, columnAbsolute)
	case cols.pressure < 0 && absolute < 0:
		return columns{}, fmt.Errorf("no column %s or %s (found %s)", columnGauge, columnAbsolute, listed(names))
	case absolute >= 0:
		cols.pressure, cols.kind = absolute, Absolute
	}
	return cols, nil
}

// listed prints the names of a header that may be anything, shortened.
func listed(names []string) string {
	const most = 8
	text := quoteAtMost(80, strings.Join(names[:min(len(names), most)], ","))
	if len(names) > most {
		text += fmt.Sprintf(" and %d more", len(names)-most)
	}
	return text
}

// csvError shortens the errors of the reader to line and cause.
func csvError(err error) error {
	if parse, ok := errors.AsType[*csv.ParseError](err); ok {
		return fmt.Errorf("line %d, column %d: %w", parse.Line, parse.Column, parse.Err)
	}
	return err
}
