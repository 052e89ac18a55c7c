package trace

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
)

// Write writes the trace as a trace file that [Read] turns into the same trace
// again: pressures and temperatures in the shortest form that keeps them, times
// to the nanosecond. The temperature column is left out when no reading has one,
// the status column when every status is zero. It refuses what could not be read
// back: a pressure that is no finite number, times that do not rise.
func (tr Trace) Write(w io.Writer) error {
	for i := range tr.Readings {
		if err := writable(tr.Readings, i); err != nil {
			return fmt.Errorf("write trace: reading %d: %w", i, err)
		}
	}
	f := format{
		temperature: slices.ContainsFunc(tr.Readings, Reading.HasTemperature),
		status:      slices.ContainsFunc(tr.Readings, func(r Reading) bool { return r.Status != 0 }),
	}
	// A buffered writer keeps its first error for Flush.
	out := bufio.NewWriter(w)
	line := f.header(nil, tr.Kind)
	out.Write(line)
	for _, r := range tr.Readings {
		line = f.row(line[:0], r)
		out.Write(line)
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("write trace: %w", err)
	}
	return nil
}

// writable reports why a reading could not be read back.
func writable(readings []Reading, i int) error {
	r := readings[i]
	switch {
	case math.IsNaN(r.Pressure) || math.IsInf(r.Pressure, 0):
		return fmt.Errorf("pressure %v is not a finite number", r.Pressure)
	case math.IsInf(r.Celsius, 0):
		return fmt.Errorf("temperature %v is not a finite number", r.Celsius)
	case r.T <= -maxTime || r.T >= maxTime:
		return fmt.Errorf("time %s s is out of range", seconds(r.T))
	case i > 0 && r.T <= readings[i-1].T:
		return notRising(readings[i-1].T, r.T)
	}
	return nil
}

// format says which of the optional columns a file has.
type format struct{ temperature, status bool }

func (f format) header(line []byte, kind Kind) []byte {
	line = append(line, columnTime...)
	line = append(line, ',')
	line = append(line, columns{kind: kind}.pressureName()...)
	if f.temperature {
		line = append(line, ","+columnTemperature...)
	}
	if f.status {
		line = append(line, ","+columnStatus...)
	}
	return append(line, "\r\n"...)
}

func (f format) row(line []byte, r Reading) []byte {
	line = append(line, seconds(r.T)...)
	line = append(line, ',')
	line = strconv.AppendFloat(line, r.Pressure, 'g', -1, 64)
	if f.temperature {
		line = append(line, ',')
		if r.HasTemperature() {
			line = strconv.AppendFloat(line, r.Celsius, 'g', -1, 64)
		}
	}
	if f.status {
		line = fmt.Appendf(line, ",%02x", uint8(r.Status))
	}
	return append(line, "\r\n"...)
}
