package frames_test

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/frames"
)

// inPieces feeds a stream in pieces of size bytes to a new decoder. It reports false
// when the stream names another version of the protocol, which ends it.
func inPieces(stream []byte, size int) (c *collector, counts frames.Counts, ok bool) {
	var d frames.Decoder
	c = &collector{}
	for piece := range slices.Chunk(stream, size) {
		if d.Feed(piece, c) != nil {
			return c, d.Counts(), false
		}
	}
	return c, d.Counts(), true
}

// FuzzGarbageCostsNothingAfterALineEnd: after any bytes, with or without a line end,
// the next sound frames are read, and the pieces in which bytes come change nothing.
func FuzzGarbageCostsNothingAfterALineEnd(f *testing.F) {
	f.Add([]byte("\xff\x00garbage"), uint8(3), true)
	f.Add([]byte("$BTRD,1,2,3"), uint8(1), false)
	f.Add([]byte(exampleReading+exampleIdentity), uint8(7), true)
	f.Add([]byte("$"+strings.Repeat("9", 400)), uint8(200), false)
	f.Add([]byte("$"+strings.Repeat("9", 700)), uint8(200), false)
	f.Add([]byte(reading(77, 5)+reading(76, 4)+reading(3_000_000, 1)), uint8(0), true)
	f.Fuzz(func(t *testing.T, garbage []byte, size uint8, ended bool) {
		stream := slices.Clone(garbage)
		if ended {
			stream = append(stream, '\n')
		}
		alone, _, _ := inPieces(append(slices.Clone(garbage), '\n'), len(garbage)+1)
		// Three readings, for the first two may be needed to believe in a restart.
		stream = fmt.Appendf(stream, "%s%s%s", reading(4_000_000_001, 11), reading(4_000_000_002, 12), reading(4_000_000_003, 13))
		c, counts, ok := inPieces(stream, int(size)+1)
		if !ok {
			t.Skip("the garbage is a gauge of another version")
		}
		got := c.pressures()
		require.GreaterOrEqual(t, len(got), 2)
		assert.Equal(t, float64(4_000_000_003%10_000_000), got[len(got)-1])
		assert.Equal(t, float64(4_000_000_002%10_000_000), got[len(got)-2])
		if len(alone.readings) == 0 {
			require.Len(t, got, 3, "nothing to doubt the first by")
		}
		for i, r := range c.readings {
			require.False(t, math.IsNaN(r.Pressure) || math.Abs(r.Pressure) > 1e7)
			require.True(t, i == 0 || r.T >= c.readings[i-1].T, "time never goes back")
		}
		assert.EqualValues(t, len(c.readings), counts.Readings)
		assert.Zero(t, counts.Undecoded, "nothing stands behind the last sound frame")

		whole, all, _ := inPieces(stream, len(stream))
		assert.Equal(t, whole.order, c.order)
		assert.Equal(t, whole.pressures(), got)
		assert.Equal(t, whole.identities, c.identities)
		assert.Equal(t, all, counts)
	})
}

// mishap is what three bytes of a script do to the line of one reading.
func mishap(line []byte, kind, where, what byte) []byte {
	line = slices.Clone(line)
	at := int(where) % len(line)
	switch kind % 8 {
	case 0: // one bit turned over
		line[at] ^= 1 << (what % 8)
	case 1: // a byte lost
		line = slices.Delete(line, at, at+1)
	case 2: // a byte too many
		line = slices.Insert(line, at, what)
	case 3: // the end lost, line end and all
		line = line[:at]
	case 4: // the line end lost
		line = bytes.TrimRight(line, "\r\n")
	case 5: // a burst of noise in front
		line = append(bytes.Repeat([]byte{what}, int(where)), line...)
	}
	return line // 6 and 7: nothing
}

// FuzzDamageCostsItsOwnLineOnly: of a run of readings, all those are delivered, in
// order and once each, whose line came through whole from its dollar sign to a line end.
func FuzzDamageCostsItsOwnLineOnly(f *testing.F) {
	f.Add([]byte{6, 0, 0, 0, 3, 1, 6, 0, 0, 4, 0, 0, 6, 0, 0}, uint8(7))
	f.Add([]byte{1, 0, 0, 1, 255, 0, 2, 9, '$', 2, 30, '\n', 5, 255, '$'}, uint8(0))
	f.Add([]byte{3, 0, 0, 3, 3, 0, 3, 33, 0, 5, 200, 'x'}, uint8(31))
	f.Fuzz(func(t *testing.T, script []byte, size uint8) {
		const first, most = 5, 200
		sent := map[string]float64{} // lines by what stands between dollar and line end
		var stream []byte
		for i, ops := range slices.Collect(slices.Chunk(script, 3)) {
			if len(ops) < 3 || i == most {
				break
			}
			seq := uint32(first + i)
			sound := reading(seq, seq*1000)
			sent[strings.TrimRight(sound, "\r\n")] = float64(seq)
			stream = append(stream, mishap([]byte(sound), ops[0], ops[1], ops[2])...)
		}
		want := []float64{}
		pieces := strings.Split(string(stream), "\n")
		for _, piece := range pieces[:len(pieces)-1] {
			from := strings.LastIndexByte(piece, '$')
			if from < 0 {
				continue
			}
			text := strings.TrimRight(piece[from:], "\r")
			if value, ok := sent[text]; ok {
				want = append(want, value)
			} else if c, _, _ := inPieces([]byte(text+"\n"), frames.MaxLine); len(c.readings) > 0 {
				t.Skip("the checksum lets this damage pass")
			}
		}
		c, counts, _ := inPieces(stream, int(size)+1)
		assert.Equal(t, want, c.pressures())
		assert.NotContains(t, c.order, "B", "damage is no restart")
		assert.EqualValues(t, len(want), counts.Readings)
		if n := len(want); n > 0 {
			assert.EqualValues(t, int(want[n-1]-want[0])+1-n, counts.Lost, "what is missing is counted")
		}
	})
}
