package trace

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"time"
)

// readRows reads the rows below the header, in order of time and at most so many.
func readRows(in *csv.Reader, cols columns, most int) ([]Reading, error) {
	var readings []Reading
	for {
		row, err := in.Read()
		if errors.Is(err, io.EOF) {
			return readings, nil
		}
		if err != nil {
			return nil, csvError(err)
		}
		line, _ := in.FieldPos(0)
		if len(readings) == most {
			return nil, fmt.Errorf("line %d: more than %d readings: %w", line, most, ErrTooLong)
		}
		reading, err := cols.reading(row)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", line, err)
		}
		if n := len(readings); n > 0 && reading.T <= readings[n-1].T {
			return nil, fmt.Errorf("line %d: %w", line, notRising(readings[n-1].T, reading.T))
		}
		readings = append(readings, reading)
	}
}

func notRising(before, now time.Duration) error {
	if now == before {
		return fmt.Errorf("time %s s repeats that of the reading before", seconds(now))
	}
	return fmt.Errorf("time goes back from %s s to %s s", seconds(before), seconds(now))
}

// reading turns one row into a reading.
func (c columns) reading(row []string) (Reading, error) {
	if len(row) != c.count {
		return Reading{}, c.wrongCount(len(row))
	}
	r := Reading{Celsius: math.NaN()}
	var err error
	if r.T, err = parseSeconds(row[c.time]); err != nil {
		return Reading{}, fmt.Errorf("column %s: %w", columnTime, err)
	}
	if r.Pressure, err = parseFinite(row[c.pressure]); err != nil {
		return Reading{}, fmt.Errorf("column %s: %w", c.pressureName(), err)
	}
	if c.temperature >= 0 && strings.TrimSpace(row[c.temperature]) != "" {
		if r.Celsius, err = parseFinite(row[c.temperature]); err != nil {
			return Reading{}, fmt.Errorf("column %s: %w", columnTemperature, err)
		}
	}
	if c.status >= 0 {
		if r.Status, err = parseStatus(row[c.status]); err != nil {
			return Reading{}, fmt.Errorf("column %s: %w", columnStatus, err)
		}
	}
	return r, nil
}

func (c columns) pressureName() string {
	if c.kind == Absolute {
		return columnAbsolute
	}
	return columnGauge
}

// wrongCount explains a row of another length than the header. Twice as many fields
// is what decimal commas make of a row.
func (c columns) wrongCount(fields int) error {
	err := fmt.Errorf("%d fields, header has %d", fields, c.count)
	if fields > c.count && fields <= 2*c.count {
		err = fmt.Errorf("%w (write decimals with a point, 2.5 and not 2,5)", err)
	}
	return err
}
