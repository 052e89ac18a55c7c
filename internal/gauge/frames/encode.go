package frames

import (
	"math"
	"strconv"

	"boretight/internal/trace"
)

// AppendReading appends a BTRD frame with its line end. The pressure is written
// with all digits it takes to read back the same number; one that is not finite
// cannot be written and becomes 0 with the status bit of a faulty sensor.
func AppendReading(dst []byte, seq, micros uint32, r trace.Reading) []byte {
	pressure, status := r.Pressure, r.Status
	if math.IsNaN(pressure) || math.IsInf(pressure, 0) {
		pressure, status = 0, status|trace.Faulty
	}
	dst = append(dst, "$BTRD,"...)
	start := len(dst) - len("BTRD,")
	dst = strconv.AppendUint(dst, uint64(seq), 10)
	dst = append(dst, ',')
	dst = strconv.AppendUint(dst, uint64(micros), 10)
	dst = append(dst, ',')
	dst = appendDecimal(dst, pressure)
	dst = append(dst, ',')
	if r.HasTemperature() {
		dst = appendDecimal(dst, r.Celsius)
	}
	dst = append(dst, ',', hexDigits[status>>4], hexDigits[status&0xF])
	return appendEnd(dst, start)
}

// AppendIdentity appends a BTID frame with its line end. The caller answers for
// the serial number.
func AppendIdentity(dst []byte, id Identity) []byte {
	kind := byte('G')
	if id.Kind == trace.Absolute {
		kind = 'A'
	}
	dst = append(dst, "$BTID,"...)
	start := len(dst) - len("BTID,")
	dst = strconv.AppendInt(dst, int64(id.Version), 10)
	dst = append(dst, ',')
	dst = append(dst, id.Serial...)
	dst = append(dst, ',', kind)
	for _, v := range [...]float64{id.MinPa, id.MaxPa, id.ResolutionPa, id.RateHz} {
		dst = append(dst, ',')
		dst = appendDecimal(dst, v)
	}
	return appendEnd(dst, start)
}

const hexDigits = "0123456789ABCDEF"

// appendDecimal writes the shortest decimal that reads back as v, without exponent.
func appendDecimal(dst []byte, v float64) []byte {
	return strconv.AppendFloat(dst, v, 'f', -1, 64)
}

// appendEnd closes the frame whose body starts at start.
func appendEnd(dst []byte, start int) []byte {
	crc := Checksum(dst[start:])
	return append(dst, '*', hexDigits[crc>>12], hexDigits[crc>>8&0xF], hexDigits[crc>>4&0xF], hexDigits[crc&0xF], '\r', '\n')
}
