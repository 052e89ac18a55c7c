package frames_test

import (
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/frames"
	"boretight/internal/trace"
)

const (
	exampleReading  = "$BTRD,2656,3660740,16.6,24.57,00*2E82\r\n"
	exampleIdentity = "$BTID,1,HX-0417,G,-7500,7500,0.5,100*E928\r\n"
)

func TestTheProtocolsExamplesAreRead(t *testing.T) {
	c, counts := decode(t, exampleIdentity+exampleReading)
	assert.Equal(t, []frames.Identity{{
		Version: 1, Serial: "HX-0417", Kind: trace.Gauge, MinPa: -7500, MaxPa: 7500, ResolutionPa: 0.5, RateHz: 100,
	}}, c.identities)
	assert.Equal(t, []trace.Reading{{Pressure: 16.6, Celsius: 24.57}}, c.readings)
	assert.Equal(t, frames.Counts{Readings: 1}, counts)
}

func TestReadingsMadeElsewhereAreRead(t *testing.T) {
	// Checksums by Python, binascii.crc_hqx(body, 0xffff).
	for stream, want := range map[string]trace.Reading{
		"$BTRD,0,0,0,0,00*F3D6\n": {},
		"$BTRD,7,70000,-0.5,-12.25,07,extra,1.5*B0E1\n": {
			Pressure: -0.5, Celsius: -12.25, Status: trace.Saturated | trace.Faulty | trace.SupplyLow,
		},
	} {
		c, counts := decode(t, stream)
		assert.Equal(t, []trace.Reading{want}, c.readings, stream)
		assert.Zero(t, counts.Damaged, stream)
	}
	c, _ := decode(t, "$BTRD,4294967295,4294967295,-2503.75,,01*4BE7\r\n")
	require.Len(t, c.readings, 1)
	assert.Equal(t, -2503.75, c.readings[0].Pressure)
	assert.True(t, math.IsNaN(c.readings[0].Celsius), "an empty temperature is none")
	assert.False(t, c.readings[0].Status.Usable())
}

func TestAnAbsoluteGaugeIsToldFromItsKind(t *testing.T) {
	c, _ := decode(t, "$BTID,1,a_Z-9,A,30000,110000,1,1000*6EE1\r\n")
	require.Len(t, c.identities, 1)
	assert.Equal(t, trace.Absolute, c.identities[0].Kind)
}

func TestAnotherVersionIsRefusedWithAdvice(t *testing.T) {
	var d frames.Decoder
	err := d.Feed([]byte(exampleReading+"$BTID,2,HX-0417,G,-7500,7500,0.5,100*F209\r\n"), &collector{})
	assert.EqualError(t, err, "gauge speaks frame protocol version 2; this program knows 1: update this program")
	var version *frames.VersionError
	require.ErrorAs(t, err, &version)
	assert.EqualValues(t, 2, version.Version)

	err = d.Feed([]byte(line("BTID,0")), &collector{})
	assert.EqualError(t, err, "gauge speaks frame protocol version 0; this program knows 1: update the gauge's firmware")
}

func TestOneLineAtATime(t *testing.T) {
	good := strings.TrimSuffix(reading(1, 10), "\r\n")
	long := func(n int) string { // a sound frame of n bytes without its line end
		body := "BTRD,1,10,1,,00,"
		return strings.TrimSuffix(line(body+strings.Repeat("x", n-len("$*FFFF")-len(body))), "\r\n")
	}
	for _, c := range []struct {
		name, stream             string
		readings, damaged, skips int
	}{
		{"a line feed alone ends a line", good + "\n", 1, 0, 0},
		{"carriage return and line feed end a line", good + "\r\n", 1, 0, 0},
		{"blank lines are nothing", "\r\n\n \t\n" + good + "\n\n", 1, 0, 0},
		{"the rest of a line at the start is nothing", "D,5,50,5,,00*ABCD\r\n" + good + "\n", 1, 0, 0},
		{"a line without a frame is damaged", "\nhello\r\n" + good + "\n", 1, 1, 0},
		{"a wrong checksum is damage", "$BTRD,1,10,1,,00*0000\n", 0, 1, 0},
		{"a lower-case checksum is damage", "$BTRD,2656,3660740,16.6,24.57,00*2e82\n", 0, 1, 0},
		{"a changed figure is damage", strings.Replace(exampleReading, "16.6", "16.7", 1), 0, 1, 0},
		{"a dollar alone is damage", "$\n", 0, 1, 0},
		{"an empty body with its checksum is unknown", "$*FFFF\n", 0, 0, 1},
		{"bytes after the checksum are damage", good + " \n", 0, 1, 0},
		{"a line is read from its last dollar", "$BTRD,1,10,$\x00junk" + good + "\n", 1, 1, 0},
		{"a lost line end costs the line before", reading(1, 10)[:20] + reading(2, 20), 1, 1, 0},
		{"an unknown frame is skipped", line("BTXX,whatever,1") + line("BTRDX,1"), 0, 0, 2},
		{"the longest line is read", long(frames.MaxLine) + "\r\n", 1, 0, 0},
		{"a longer line is damaged", long(frames.MaxLine+1) + "\r\n", 0, 1, 0},
		{"much junk before the dollar does not matter", strings.Repeat("x", 10_000) + good + "\n", 1, 0, 0},
		{"fields may be added", line("BTRD,1,10,1,,00,more,,"), 1, 0, 0},
		{"a missing field is damage", line("BTRD,1,10,1,"), 0, 1, 0},
		{"a number over 32 bits is damage", line("BTRD,4294967296,10,1,,00"), 0, 1, 0},
		{"a negative number of a reading is damage", line("BTRD,-1,10,1,,00"), 0, 1, 0},
		{"an exponent is damage", line("BTRD,1,10,1e3,,00"), 0, 1, 0},
		{"NaN is damage", line("BTRD,1,10,NaN,,00"), 0, 1, 0},
		{"an infinity is damage", line("BTRD,1,10,-Inf,,00"), 0, 1, 0},
		{"a plus is damage", line("BTRD,1,10,+1,,00"), 0, 1, 0},
		{"two points are damage", line("BTRD,1,10,1.2.3,,00"), 0, 1, 0},
		{"an empty pressure is damage", line("BTRD,1,10,,,00"), 0, 1, 0},
		{"a minus alone is damage", line("BTRD,1,10,-,,00"), 0, 1, 0},
		{"a pressure beyond any gauge is damage", line("BTRD,1,10,10000000.1,,00"), 0, 1, 0},
		{"a temperature below absolute zero is damage", line("BTRD,1,10,1,-273.2,00"), 0, 1, 0},
		{"a status of one digit is damage", line("BTRD,1,10,1,,0"), 0, 1, 0},
		{"a status that is no number is damage", line("BTRD,1,10,1,,0G"), 0, 1, 0},
		{"reserved status bits are ignored", line("BTRD,1,10,1,,f8"), 1, 0, 0},
		{"a serial number with a space is damage", line("BTID,1,HX 0417,G,-7500,7500,0.5,100"), 0, 1, 0},
		{"a serial number of 33 characters is damage", line("BTID,1," + strings.Repeat("A", 33) + ",G,-7500,7500,0.5,100"), 0, 1, 0},
		{"an unknown kind is damage", line("BTID,1,HX,D,-7500,7500,0.5,100"), 0, 1, 0},
		{"a range upside down is damage", line("BTID,1,HX,G,7500,-7500,0.5,100"), 0, 1, 0},
		{"a rate of nothing is damage", line("BTID,1,HX,G,-7500,7500,0.5,0"), 0, 1, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, counts := decode(t, c.stream)
			assert.Len(t, got.readings, c.readings, "readings")
			assert.EqualValues(t, c.damaged, counts.Damaged, "damaged lines")
			assert.EqualValues(t, c.skips, counts.Skipped, "skipped frames")
			for _, r := range got.readings {
				assert.Zero(t, r.Status)
			}
		})
	}
}

func TestNumbersReadAsTheStandardLibraryReadsThem(t *testing.T) {
	for _, text := range []string{
		"0", "-0", "0.1", "-0.1", "16.6", "2503.75", "-7500", "123456.789012345", "0.000001", "00012.50",
		"999999999999999e", "0.1234567890123456789", "9999999.99999999999", "3.", ".5", "1234567.12345678",
	} {
		want, err := strconv.ParseFloat(text, 64)
		c, _ := decode(t, line("BTRD,1,1,"+text+",,00"))
		if err != nil {
			assert.Empty(t, c.readings, text)
			continue
		}
		if assert.Len(t, c.readings, 1, text) {
			assert.Equal(t, math.Float64bits(want), math.Float64bits(c.readings[0].Pressure), text)
		}
	}
}

func TestChunksOfAnySizeGiveTheSame(t *testing.T) {
	stream := "partial\r\n" + exampleIdentity + reading(1, 10) + "junk$$\n" + reading(2, 20)[:9] + reading(3, 30) +
		strings.Repeat("y", 500) + "\n" + "$" + strings.Repeat("z", 300) + reading(4, 40) + reading(6, 60)
	want, wantCounts := decode(t, stream)
	require.Equal(t, []float64{1, 3, 4, 6}, want.pressures())
	require.Equal(t, frames.Counts{Readings: 4, Lost: 2, Damaged: 3}, wantCounts)
	for size := 1; size <= len(stream); size++ {
		var d frames.Decoder
		got := &collector{}
		for rest := stream; rest != ""; {
			n := min(size, len(rest))
			require.NoError(t, d.Feed([]byte(rest[:n]), got))
			rest = rest[n:]
		}
		require.Equal(t, want.pressures(), got.pressures(), "chunks of %d", size)
		require.Equal(t, wantCounts, d.Counts(), "chunks of %d", size)
	}
}

func TestBytesAfterTheLongestLineAreDamageInPiecesToo(t *testing.T) {
	body := "BTRD,1,10,1,,00,"
	body += strings.Repeat("x", frames.MaxLine-len("$*FFFF")-len(body))
	longest := strings.TrimSuffix(line(body), "\n") // with its carriage return
	require.Len(t, longest, frames.MaxLine+1)
	for _, tail := range []string{"", "more"} {
		var d frames.Decoder
		c := &collector{}
		require.NoError(t, d.Feed([]byte(longest), c))
		require.NoError(t, d.Feed([]byte(tail+"\n"), c))
		assert.Equal(t, tail == "", len(c.readings) == 1, "%q after the line", tail)
		assert.Equal(t, tail != "", d.Counts().Damaged == 1, "%q after the line", tail)
	}
}

func TestAStreamWithoutLineEndsIsCountedInBytes(t *testing.T) {
	var d frames.Decoder
	c := &collector{}
	for range 1000 {
		require.NoError(t, d.Feed([]byte(strings.Repeat("\xFF", 1000)), c))
	}
	assert.EqualValues(t, 1_000_000, d.Counts().Undecoded)
	require.NoError(t, d.Feed([]byte("\n"+reading(1, 1)), c))
	assert.Equal(t, frames.Counts{Readings: 1}, d.Counts(), "the first line may be any rest of a line")
}

func TestAnIdentityIsToldOnceAndAgainWhenItChanges(t *testing.T) {
	c, _ := decode(t, exampleIdentity+exampleIdentity+reading(1, 10)+line("BTID,1,HX-0417,G,-7500,7500,0.5,200")+reading(2, 20))
	assert.Equal(t, "IRIR", c.order, "a new rate is no break")
}

func TestAnotherGaugeOnTheLineIsABreak(t *testing.T) {
	c, counts := decode(t, exampleIdentity+reading(1, 10)+line("BTID,1,OTHER,G,-7500,7500,0.5,100")+reading(500, 20_000))
	assert.Equal(t, "IRBIR", c.order)
	assert.Equal(t, []error{frames.ErrOtherGauge}, c.breaks)
	assert.Zero(t, counts.Lost, "nothing is lost between two gauges")
}

func TestReadingsTakenAsGaugePressureDoNotBelongToAnAbsoluteGauge(t *testing.T) {
	c, _ := decode(t, reading(1, 10)+line("BTID,1,ABS,A,30000,110000,1,100")+reading(2, 20))
	assert.Equal(t, "RBIR", c.order)
	c, _ = decode(t, reading(1, 10)+exampleIdentity+reading(2, 20))
	assert.Equal(t, "RIR", c.order)
}

func TestTheClockIsUnwrapped(t *testing.T) {
	// 72 minutes in steps of 9 s pass the end of the 32 bits, at 71.6 min, once.
	var stream strings.Builder
	const start, step = uint32(4_000_000_000), uint32(9_000_000)
	for i := range uint32(481) {
		stream.WriteString(reading(math.MaxUint32-100+i, start+i*step))
	}
	c, counts := decode(t, stream.String())
	assert.Equal(t, frames.Counts{Readings: 481}, counts, "the numbers wrap too")
	assert.Zero(t, c.readings[0].T)
	assert.Equal(t, 72*time.Minute, c.readings[480].T)
}

func TestLostReadingsAreCountedOverTheWrap(t *testing.T) {
	_, counts := decode(t, reading(math.MaxUint32-1, 10)+reading(3, 20))
	assert.EqualValues(t, 4, counts.Lost, "4294967295, 0, 1 and 2")
}

func TestARepeatedReadingIsDroppedAsDamaged(t *testing.T) {
	c, counts := decode(t, reading(1, 10)+reading(1, 10)+reading(2, 20))
	assert.Equal(t, []float64{1, 2}, c.pressures())
	assert.Equal(t, frames.Counts{Readings: 2, Damaged: 1}, counts)
}

func TestResumeSetsTheFirstTime(t *testing.T) {
	var d frames.Decoder
	d.Resume(time.Minute)
	c := &collector{}
	require.NoError(t, d.Feed([]byte(reading(9, 1_000_000)+reading(10, 1_500_000)), c))
	assert.Equal(t, time.Minute, c.readings[0].T)
	assert.Equal(t, time.Minute+500*time.Millisecond, c.readings[1].T)
}

func TestWhatDoesNotFollowIsJudgedByTheNext(t *testing.T) {
	before := reading(1000, 10_000_000) + reading(1001, 10_010_000)
	for _, c := range []struct {
		name, after, order string
		damaged            int
		last               time.Duration // T of the last reading
	}{
		{"a restart is a break once two readings agree",
			reading(0, 200_000) + reading(1, 210_000), "RRBRR", 0, 220 * time.Millisecond},
		{"a restart with losses is a break as well",
			reading(3, 200_000) + reading(9, 300_000), "RRBRR", 0, 310 * time.Millisecond},
		{"a clock that goes back alone is a break",
			reading(1002, 5_000_000) + reading(1003, 5_010_000), "RRBRR", 0, 5_020 * time.Millisecond},
		{"a number that goes back alone is a break",
			reading(4, 10_020_000) + reading(5, 10_030_000), "RRBRR", 0, 10_020 * time.Millisecond},
		{"a number far ahead is a break",
			reading(3_000_000, 10_020_000) + reading(3_000_001, 10_030_000), "RRBRR", 0, 10_020 * time.Millisecond},
		{"a clock far ahead is a break, and believed for 10 s at most",
			reading(1002, 60_010_000) + reading(1003, 60_020_000), "RRBRR", 0, 10_020 * time.Millisecond},
		{"a single number far ahead is damage",
			reading(3_000_000, 10_020_000) + reading(1003, 10_030_000), "RRR", 1, 30 * time.Millisecond},
		{"a single step back is damage",
			reading(1002, 9_000_000) + reading(1003, 10_030_000), "RRR", 1, 30 * time.Millisecond},
		{"a repeated stray is damage twice",
			reading(7, 5) + reading(7, 5) + reading(1003, 10_030_000), "RRR", 2, 30 * time.Millisecond},
		{"strays that agree with nothing are damage each",
			reading(7, 5) + reading(3, 4) + reading(1003, 10_030_000), "RRR", 2, 30 * time.Millisecond},
		{"a clock that has not moved is damage",
			reading(1002, 10_010_000) + reading(1003, 10_030_000), "RRR", 1, 30 * time.Millisecond},
		{"a restart is believed only once its clock moves",
			reading(0, 0) + reading(1, 0) + reading(2, 20_000), "RRBRR", 1, 30_001 * time.Microsecond},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, counts := decode(t, before+c.after)
			assert.Equal(t, c.order, got.order)
			assert.EqualValues(t, c.damaged, counts.Damaged, "damaged lines")
			assert.Equal(t, c.last, got.readings[len(got.readings)-1].T)
			for _, reason := range got.breaks {
				assert.ErrorIs(t, reason, frames.ErrRestarted)
			}
			for i := 1; i < len(got.readings); i++ {
				assert.Greater(t, got.readings[i].T, got.readings[i-1].T)
			}
		})
	}
}

func TestALongPauseOfTheLineCountsItsReadingsAsLost(t *testing.T) {
	// 20 minutes at 100 Hz without a byte, the gauge going on.
	c, counts := decode(t, reading(5, 0)+reading(5+120_000, 1_200_000_000))
	assert.Equal(t, "RR", c.order)
	assert.EqualValues(t, 119_999, counts.Lost)
	assert.Equal(t, 20*time.Minute, c.readings[1].T)
}

func TestReadingsWhoseClockStandsAreCounted(t *testing.T) {
	stream := reading(1, 10) + reading(2, 10) + reading(3, 10)
	c, counts := decode(t, stream)
	assert.Equal(t, "R", c.order)
	assert.Equal(t, frames.Counts{Readings: 1, Damaged: 2, Standing: 2}, counts)
	_, counts = decode(t, stream+reading(4, 20))
	assert.Equal(t, frames.Counts{Readings: 2, Damaged: 2, Lost: 2}, counts)
}

func TestTimeRisesFromOneGaugeToTheNext(t *testing.T) {
	c, _ := decode(t, reading(1, 10)+reading(2, 20)+line("BTID,1,ABS,A,30000,110000,1,100")+reading(1, 10))
	require.Len(t, c.readings, 3)
	assert.Greater(t, c.readings[2].T, c.readings[1].T)
}
