package frames_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/gauge/frames"
)

func TestChecksumAgreesWithPublishedAndOutsideValues(t *testing.T) {
	for body, want := range map[string]uint16{
		// The check value of CRC-16/IBM-3740 in the catalogue of parametrised CRCs.
		"123456789": 0x29B1,
		"":          0xFFFF,
		// The rest: Python, binascii.crc_hqx(body, 0xffff).
		"BTRD,2656,3660740,16.6,24.57,00":         0x2E82,
		"BTID,1,HX-0417,G,-7500,7500,0.5,100":     0xE928,
		"BTRD,4294967295,4294967295,-2503.75,,01": 0x4BE7,
		"BTRD,7,70000,-0.5,-12.25,07,extra,1.5":   0xB0E1,
	} {
		assert.Equalf(t, want, frames.Checksum([]byte(body)), "body %q", body)
	}
}
