package ledger

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math"
	"time"

	"boretight/internal/trace"
)

// BlockSpan is the longest time that one block covers, on the readings' clock.
const BlockSpan = 250 * time.Millisecond

// readingSize is the number of bytes of one reading in a block.
const readingSize = 8 + 8 + 8 + 1

// Block is a run of readings of one hold. Its bytes are one reading after the
// other, 25 bytes each, little-endian, exact:
//
//	offset  size  what
//	     0     8  time in ns on the stream's clock, two's complement
//	     8     8  pressure in Pa, IEEE 754 binary64
//	    16     8  temperature in °C, the same; not given is 7ff8000000000001
//	    24     1  status bits
//
// Cutting a hold's bytes into other blocks changes no hash: SHA-256 runs over the
// readings alone.
type Block struct {
	Hold string
	// First is the index of the first reading, counted from 0 over all readings of
	// the hold, those lost to a full queue included. So a gap shows where and how many.
	First int64
	Count int64
	Data  []byte
	// Running is the SHA-256 of the hold's bytes up to and with this block.
	Running Digest
}

// noTemperature is the one form of "not given"; other NaNs are written as it.
const noTemperature = 0x7ff8000000000001

// AppendReading appends the bytes of a reading.
func AppendReading(b []byte, r trace.Reading) []byte {
	celsius := uint64(noTemperature)
	if r.HasTemperature() {
		celsius = math.Float64bits(r.Celsius)
	}
	b = binary.LittleEndian.AppendUint64(b, uint64(r.T))
	b = binary.LittleEndian.AppendUint64(b, math.Float64bits(r.Pressure))
	b = binary.LittleEndian.AppendUint64(b, celsius)
	return append(b, byte(r.Status))
}

// Readings returns the readings of a block.
func (b Block) Readings() ([]trace.Reading, error) {
	if b.Count < 0 || int64(len(b.Data)) != b.Count*readingSize {
		return nil, fmt.Errorf("block at %d of hold %s: %d bytes for %d readings, want %d a reading",
			b.First, b.Hold, len(b.Data), b.Count, readingSize)
	}
	rs := make([]trace.Reading, 0, b.Count)
	for p := b.Data; len(p) > 0; p = p[readingSize:] {
		rs = append(rs, trace.Reading{
			T:        time.Duration(binary.LittleEndian.Uint64(p)),
			Pressure: math.Float64frombits(binary.LittleEndian.Uint64(p[8:])),
			Celsius:  math.Float64frombits(binary.LittleEndian.Uint64(p[16:])),
			Status:   trace.Status(p[24]),
		})
	}
	return rs, nil
}

// Sum returns the SHA-256 of bytes.
func Sum(b []byte) Digest { return sha256.Sum256(b) }
