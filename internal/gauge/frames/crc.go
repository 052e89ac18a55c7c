package frames

// crcTable drives the byte-wise form of CRC-16/IBM-3740: polynomial 1021, initial
// value FFFF, not reflected, no final exclusive or.
var crcTable = makeCRCTable(0x1021)

func makeCRCTable(polynomial uint16) (table [256]uint16) {
	for i := range table {
		rest := uint16(i) << 8
		for range 8 {
			carry := rest&0x8000 != 0
			rest <<= 1
			if carry {
				rest ^= polynomial
			}
		}
		table[i] = rest
	}
	return table
}

// Checksum returns the CRC-16/IBM-3740 of a frame's body: the bytes between, and
// without, the dollar sign and the star.
func Checksum(body []byte) uint16 {
	crc := uint16(0xFFFF)
	for _, b := range body {
		crc = crc<<8 ^ crcTable[byte(crc>>8)^b]
	}
	return crc
}

// hexDigit returns the value of one hexadecimal digit, lower case only where
// allowed, and -1 for anything else.
func hexDigit(c byte, lowerToo bool) int {
	switch {
	case '0' <= c && c <= '9':
		return int(c - '0')
	case 'A' <= c && c <= 'F':
		return int(c-'A') + 10
	case lowerToo && 'a' <= c && c <= 'f':
		return int(c-'a') + 10
	}
	return -1
}

// parseCRC reads the four upper-case digits after the star.
func parseCRC(digits []byte) (uint16, bool) {
	if len(digits) != 4 {
		return 0, false
	}
	var crc uint16
	for _, c := range digits {
		v := hexDigit(c, false)
		if v < 0 {
			return 0, false
		}
		crc = crc<<4 | uint16(v)
	}
	return crc, true
}
