package frames

import (
	"bytes"
	"fmt"
	"math"

	"boretight/internal/trace"
)

// Version is the version of the frame protocol that this package speaks.
const Version = 1

// Identity is what a BTID frame says.
type Identity struct {
	// Version of the protocol; always [Version] where a Decoder hands it out.
	Version int
	// Serial is the gauge's serial number: 1 to 32 of A–Z a–z 0–9 - _.
	Serial string
	// Kind says what the pressures are measured against.
	Kind trace.Kind
	// MinPa and MaxPa are the sensor's range in pascals.
	MinPa, MaxPa float64
	// ResolutionPa is the step of its figures in pascals.
	ResolutionPa float64
	// RateHz is the number of readings a second.
	RateHz float64
}

// VersionError is returned when a gauge speaks another version of the protocol:
// its readings may mean something else, so none after it is taken.
type VersionError struct{ Version uint32 }

// Error says which version was met and what to do about it.
func (e *VersionError) Error() string {
	what := "update this program"
	if e.Version < Version {
		what = "update the gauge's firmware"
	}
	return fmt.Sprintf("gauge speaks frame protocol version %d; this program knows %d: %s", e.Version, Version, what)
}

const (
	// limitPa bounds pressures, range and resolution: 100 bar, far beyond any
	// sensor that could hang on a hose.
	limitPa = 1e7
	// limitCelsius bounds temperatures; below absolute zero is refused as well.
	limitCelsius = 1000
	// limitHz bounds the rate; the fastest serial port carries some thousands.
	limitHz = 1e5
	// maxSerial is the longest serial number.
	maxSerial = 32
)

// identityFields are the fields of a BTID frame in bytes of the line.
type identityFields struct {
	serial []byte
	Identity
}

// parseIdentity reads what follows "BTID,". Its error, if any, is a
// [*VersionError]; a malformed frame is only not ok.
func parseIdentity(rest []byte) (id identityFields, ok bool, err error) {
	version, rest := cutField(rest)
	v, ok := parseUint32(version)
	if !ok {
		return id, false, nil
	}
	if v != Version {
		return id, false, &VersionError{Version: v}
	}
	id.Version = Version
	id.serial, rest = cutField(rest)
	kind, rest := cutField(rest)
	low, rest := cutField(rest)
	high, rest := cutField(rest)
	resolution, rest := cutField(rest)
	rate, _ := cutField(rest)

	var ok1, ok2, ok3, ok4 bool
	id.MinPa, ok1 = parseDecimal(low, limitPa)
	id.MaxPa, ok2 = parseDecimal(high, limitPa)
	id.ResolutionPa, ok3 = parseDecimal(resolution, limitPa)
	id.RateHz, ok4 = parseDecimal(rate, limitHz)
	switch {
	case !(ok1 && ok2 && ok3 && ok4), !validSerial(id.serial),
		id.MinPa >= id.MaxPa, id.ResolutionPa < 0, id.RateHz <= 0:
		return id, false, nil
	}
	switch {
	case bytes.Equal(kind, []byte("G")):
		id.Kind = trace.Gauge
	case bytes.Equal(kind, []byte("A")):
		id.Kind = trace.Absolute
	default:
		return id, false, nil
	}
	return id, true, nil
}

func validSerial(serial []byte) bool {
	if len(serial) == 0 || len(serial) > maxSerial {
		return false
	}
	for _, c := range serial {
		switch {
		case 'A' <= c && c <= 'Z', 'a' <= c && c <= 'z', '0' <= c && c <= '9', c == '-', c == '_':
		default:
			return false
		}
	}
	return true
}

// same reports whether the frame says nothing new, without making a string.
func (id *identityFields) same(known Identity) bool {
	serial := known.Serial
	known.Serial = ""
	return id.Identity == known && string(id.serial) == serial
}

// cutField returns the bytes before the next comma and those after it.
func cutField(rest []byte) (field, after []byte) {
	if i := bytes.IndexByte(rest, ','); i >= 0 {
		return rest[:i], rest[i+1:]
	}
	return rest, nil
}

// absoluteZero in °C.
const absoluteZero = -273.15

// parseTemperature reads a temperature in °C; an empty field is NaN: none given.
func parseTemperature(field []byte) (float64, bool) {
	if len(field) == 0 {
		return math.NaN(), true
	}
	celsius, ok := parseDecimal(field, limitCelsius)
	return celsius, ok && celsius >= absoluteZero
}
