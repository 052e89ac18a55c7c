package frames_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/frames"
	"boretight/internal/trace"
)

func TestEncodingGivesTheBytesOfTheProtocolsExamples(t *testing.T) {
	got := frames.AppendReading(nil, 2656, 3660740, trace.Reading{Pressure: 16.6, Celsius: 24.57})
	assert.Equal(t, "$BTRD,2656,3660740,16.6,24.57,00*2E82\r\n", string(got))

	got = frames.AppendIdentity([]byte("before "), frames.Identity{
		Version: 1, Serial: "HX-0417", MinPa: -7500, MaxPa: 7500, ResolutionPa: 0.5, RateHz: 100,
	})
	assert.Equal(t, "before $BTID,1,HX-0417,G,-7500,7500,0.5,100*E928\r\n", string(got))
}

func TestEncodingMarksAPressureThatIsNoNumberAsFaulty(t *testing.T) {
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		c, _ := decode(t, string(frames.AppendReading(nil, 1, 1, trace.Reading{Pressure: v, Celsius: math.NaN()})))
		require.Len(t, c.readings, 1)
		assert.Zero(t, c.readings[0].Pressure)
		assert.Equal(t, trace.Faulty, c.readings[0].Status)
	}
}

// FuzzReadingSurvivesTheLine: what is encoded decodes to the same reading.
func FuzzReadingSurvivesTheLine(f *testing.F) {
	f.Add(uint32(2656), uint32(3660740), 16.6, 24.57, byte(0))
	f.Add(uint32(math.MaxUint32), uint32(math.MaxUint32), -2503.123456789012345, -0.1, byte(7))
	f.Add(uint32(0), uint32(0), 5e-324, 1e-300, byte(0xFF))
	f.Add(uint32(0), uint32(0), 0.1+0.2, math.Copysign(0, -1), byte(1))
	f.Fuzz(func(t *testing.T, seq, micros uint32, pressure, celsius float64, status byte) {
		if !(math.Abs(pressure) <= 1e7) || !(celsius >= -273.15 && celsius <= 1000) {
			t.Skip("outside what the decoder takes")
		}
		r := trace.Reading{Pressure: pressure, Celsius: celsius, Status: trace.Status(status)}
		encoded := frames.AppendReading(nil, seq, micros, r)
		if len(encoded)-2 > frames.MaxLine {
			t.Skip("numbers with hundreds of digits do not fit a line")
		}
		c, counts := decode(t, string(encoded))
		require.Len(t, c.readings, 1)
		r.Status &= trace.Saturated | trace.Faulty | trace.SupplyLow
		assert.Equal(t, r, c.readings[0])
		assert.Equal(t, frames.Counts{Readings: 1}, counts)
	})
}

// FuzzIdentitySurvivesTheLine: the decoder takes exactly the identities whose
// fields the protocol allows, and takes them unchanged.
func FuzzIdentitySurvivesTheLine(f *testing.F) {
	f.Add("HX-0417", false, -7500.0, 7500.0, 0.5, 100.0)
	f.Add("a_Z-9", true, 30000.0, 110000.0, 1.0, 1000.0)
	f.Add("", true, 30000.0, 110000.0, 1.0, 1000.0)
	f.Add("has space", false, 1.0, 1.0, 1.0, 0.0)
	f.Fuzz(func(t *testing.T, serial string, absolute bool, low, high, resolution, rate float64) {
		id := frames.Identity{Version: 1, Serial: serial, MinPa: low, MaxPa: high, ResolutionPa: resolution, RateHz: rate}
		if absolute {
			id.Kind = trace.Absolute
		}
		var d frames.Decoder
		c := &collector{}
		encoded := frames.AppendIdentity(nil, id)
		require.NoError(t, d.Feed(encoded, c))
		for _, got := range c.identities {
			assert.Regexp(t, `^[A-Za-z0-9_-]{1,32}$`, got.Serial)
			assert.Less(t, got.MinPa, got.MaxPa)
			assert.Positive(t, got.RateHz)
			assert.Equal(t, string(encoded), string(frames.AppendIdentity(nil, got)))
		}
	})
}

func TestTimesOfEncodedReadingsComeBackAsSent(t *testing.T) {
	var stream []byte
	for i := range uint32(3) {
		stream = frames.AppendReading(stream, i, 500+i*10_000, trace.Reading{Celsius: math.NaN()})
	}
	c, _ := decode(t, string(stream))
	require.Len(t, c.readings, 3)
	assert.Equal(t, 20*time.Millisecond, c.readings[2].T)
}
