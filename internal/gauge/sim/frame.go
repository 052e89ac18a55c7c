package sim

import (
	"math"
	"strconv"

	"boretight/internal/trace"
)

// crc16 is CRC-16/IBM-3740: polynomial 0x1021, start 0xFFFF, nothing reflected.
// It is written out here, bit by bit, so that the program's own decoder is tested
// against something other than itself.
func crc16(data []byte) uint16 {
	crc := uint16(0xffff)
	for _, b := range data {
		crc ^= uint16(b) << 8
		for range 8 {
			carry := crc & 0x8000
			crc <<= 1
			if carry != 0 {
				crc ^= 0x1021
			}
		}
	}
	return crc
}

// identity is what a gauge says of itself in its BTID frame.
type identity struct {
	serial     string
	kind       trace.Kind
	min, max   float64 // Pa
	resolution float64 // Pa
	rate       float64 // Hz
}

// frame appends `$` body `*` CRC CR LF.
func frame(dst []byte, body string) []byte {
	const digits = "0123456789ABCDEF"
	crc := crc16([]byte(body))
	dst = append(dst, '$')
	dst = append(dst, body...)
	return append(dst, '*', digits[crc>>12], digits[crc>>8&15], digits[crc>>4&15], digits[crc&15], '\r', '\n')
}

// identityFrame is the BTID line.
func identityFrame(dst []byte, id identity) []byte {
	kind := "G"
	if id.kind == trace.Absolute {
		kind = "A"
	}
	body := "BTID,1," + id.serial + "," + kind
	for _, x := range []float64{id.min, id.max, id.resolution, id.rate} {
		body += "," + strconv.FormatFloat(x, 'f', -1, 64)
	}
	return frame(dst, body)
}

// readingFrame is the BTRD line. The clock is the reading's own time in
// microseconds and wraps with 32 bits, as the gauge's counter does.
func readingFrame(dst []byte, seq uint32, r trace.Reading, resolution float64) []byte {
	decimals := 0
	for resolution > 0 && decimals < 3 && resolution*math.Pow10(decimals) < 1-1e-9 {
		decimals++
	}
	body := "BTRD," + strconv.FormatUint(uint64(seq), 10) +
		"," + strconv.FormatUint(uint64(uint32(r.T.Microseconds())), 10) +
		"," + strconv.FormatFloat(r.Pressure+0, 'f', decimals, 64) + ","
	if r.HasTemperature() {
		body += strconv.FormatFloat(r.Celsius, 'f', 2, 64)
	}
	const digits = "0123456789ABCDEF"
	body += "," + string([]byte{digits[r.Status>>4], digits[r.Status&15]})
	return frame(dst, body)
}
