package sim_test

import (
	"bytes"
	"fmt"
	"io/fs"
	"math"
	"strconv"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/sim"
	"boretight/internal/trace"
)

func TestChecksumHasItsCatalogueValue(t *testing.T) {
	// CRC-16/IBM-3740 of "123456789".
	assert.Equal(t, uint16(0x29B1), sim.CRC16([]byte("123456789")))
}

func TestFramesAreThoseOfTheProtocolsPage(t *testing.T) {
	reading := trace.Reading{T: 3660740 * time.Microsecond, Pressure: 16.6, Celsius: 24.57}
	assert.Equal(t, "$BTRD,2656,3660740,16.6,24.57,00*2E82\r\n", string(sim.ReadingFrame(nil, 2656, reading, 0.1)))
	assert.Equal(t, "$BTID,1,HX-0417,G,-7500,7500,0.5,100*E928\r\n", string(sim.IdentityFrame("HX-0417", -7500, 7500, 0.5, 100)))
}

func TestTheClockOfAFrameWraps(t *testing.T) {
	reading := trace.Reading{T: (1<<32 + 5) * time.Microsecond, Celsius: math.NaN(), Status: trace.Saturated | trace.SupplyLow}
	line := string(sim.ReadingFrame(nil, 1, reading, 1))
	assert.True(t, strings.HasPrefix(line, "$BTRD,1,5,0,,05*"), line)
}

// line is one good line of a device and when it was read.
type line struct {
	fields []string
	at     time.Duration
}

// listen reads a device for a time and returns its good lines and how many others
// there were. It must be called in a bubble of synctest.
func listen(t *testing.T, d *sim.Device, lasting time.Duration) (good []line, bad int) {
	t.Helper()
	start := time.Now()
	var text []byte
	buf := make([]byte, 4096)
	for time.Since(start) < lasting {
		n, err := d.Read(buf)
		require.NoError(t, err)
		text = append(text, buf[:n]...)
		for {
			i := bytes.IndexByte(text, '\n')
			if i < 0 {
				break
			}
			whole := string(bytes.TrimSuffix(text[:i], []byte("\r")))
			text = text[i+1:]
			body, sum, found := strings.Cut(strings.TrimPrefix(whole, "$"), "*")
			if !found || sum != fmt.Sprintf("%04X", sim.CRC16([]byte(body))) {
				bad++
				continue
			}
			good = append(good, line{strings.Split(body, ","), time.Since(start)})
		}
	}
	return good, bad
}

func open(t *testing.T, name string) *sim.Device {
	t.Helper()
	d, err := sim.Open(name, 1)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, d.Close()) })
	return d
}

func number(t *testing.T, field string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(field, 64)
	require.NoError(t, err)
	return x
}

func TestADeviceTellsWhoItIsAtOnceAndEveryFiveSeconds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		good, bad := listen(t, open(t, "flute-body"), 21*time.Second)
		assert.Zero(t, bad)
		assert.Equal(t, "BTID,1,SIM-FLUTE-BODY,G,-7500,7500,0.5,100", strings.Join(good[0].fields, ","))
		var at []float64
		for _, l := range good {
			if l.fields[0] == "BTID" {
				at = append(at, l.at.Seconds())
			}
		}
		assert.InDeltaSlice(t, []float64{0, 5, 10, 15, 20}, at, 0.011)
	})
}

func TestReadingsComeInRealTimeWithoutGapsOverManyHolds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		good, bad := listen(t, open(t, "oboe-upper"), 90*time.Second)
		assert.Zero(t, bad)
		seq := -1
		for _, l := range good {
			if l.fields[0] != "BTRD" {
				continue
			}
			require.Equal(t, strconv.Itoa(seq+1), l.fields[1])
			seq++
			require.InDelta(t, l.at.Seconds(), number(t, l.fields[2])/1e6, 0.001, "due when its clock says")
		}
		assert.InDelta(t, 9000, seq, 5)
	})
}

func TestTheFirstHoldEndsWithinFourteenSeconds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		good, _ := listen(t, open(t, "oboe-upper"), 14*time.Second)
		var drawn, vented float64
		for _, l := range good {
			if l.fields[0] != "BTRD" {
				continue
			}
			p := number(t, l.fields[3])
			switch {
			case p < -2500 && drawn == 0:
				drawn = l.at.Seconds()
			case drawn > 0 && vented == 0 && p > -50:
				vented = l.at.Seconds()
			}
		}
		assert.InDelta(t, 2.5, drawn, 0.2)
		assert.InDelta(t, 9.7, vented, 0.3, "two seconds after it the hold is over")
	})
}

func TestADeviceAnswersWhenAsked(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := open(t, "oboe-upper")
		listen(t, d, time.Second)
		_, err := d.Write([]byte("hello?\nx\n?"))
		require.NoError(t, err)
		good, _ := listen(t, d, 100*time.Millisecond)
		for _, l := range good {
			assert.Equal(t, "BTRD", l.fields[0], "neither words nor half a command are the question")
		}
		_, err = d.Write([]byte("\n"))
		require.NoError(t, err)
		good, _ = listen(t, d, 100*time.Millisecond)
		var names []string
		for _, l := range good {
			names = append(names, l.fields[0])
		}
		assert.Contains(t, names, "BTID")
	})
}

func TestCloseEndsAWaitingRead(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := open(t, "silent")
		result := make(chan error)
		go func() {
			_, err := d.Read(make([]byte, 1))
			result <- err
		}()
		synctest.Wait()
		require.NoError(t, d.Close())
		assert.ErrorIs(t, <-result, fs.ErrClosed)
		_, err := d.Write([]byte("?\n"))
		assert.ErrorIs(t, err, fs.ErrClosed)
		_, err = d.Read(make([]byte, 1))
		assert.ErrorIs(t, err, fs.ErrClosed)
	})
}

func TestADeviceWaitsForAReaderThatSlept(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := open(t, "oboe-upper")
		listen(t, d, time.Second)
		time.Sleep(time.Hour)
		good, _ := listen(t, d, time.Second)
		assert.InDelta(t, 100, len(good), 3, "one second's worth, not an hour's")
	})
}

func TestAFlakyLineLosesSomeLinesAndKeepsMost(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		good, bad := listen(t, open(t, "flaky"), 60*time.Second)
		// 2 % of lines damaged, 5 % of readings lost; a lost line end costs two.
		assert.InDelta(t, 6000*0.93, len(good), 120)
		assert.Greater(t, bad, 30)
	})
}

func TestAnAbsoluteDeviceSaysSo(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		good, _ := listen(t, open(t, "absolute"), time.Second)
		assert.Equal(t, "A", good[0].fields[3])
		assert.InDelta(t, 98.3e3, number(t, good[1].fields[3]), 100)
	})
}

func TestEveryNamedDeviceOpens(t *testing.T) {
	names := sim.Names()
	require.NotEmpty(t, names)
	for _, n := range names {
		d, err := sim.Open(n.Name, 1)
		require.NoError(t, err, n.Name)
		require.NoError(t, d.Close())
		assert.NotEmpty(t, n.Description)
		if n.Name != "silent" {
			assert.Positive(t, n.Truth.LeakRate, n.Name)
			assert.Positive(t, n.Truth.Volume, n.Name)
		}
	}
	_, err := sim.Open("tuba", 1)
	assert.ErrorContains(t, err, `open simulated gauge "tuba": no such name (known: oboe-upper`)
}

func TestWorkDoneBeforeADrawIsOfThatHold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		// told is what a device tells in 2,500 lines whose joint is mended at a moment of its
		// first hold, which begins with a rest of 1.5 s.
		told := func(mended time.Duration) string {
			var work sim.Repairs
			work.Tell(sim.StageFound)
			d, err := sim.OpenWith("oboe-repair", sim.Play{Seed: 1, Speed: 1, Repairs: &work})
			require.NoError(t, err)
			before, _ := listen(t, d, mended)
			work.Tell(sim.StageLeft)
			after, bad := listen(t, d, 30*time.Second-mended)
			assert.Zero(t, bad)
			require.NoError(t, d.Close())
			var all strings.Builder
			for _, l := range append(before, after...)[:2500] {
				fmt.Fprintln(&all, l.fields)
			}
			return all.String()
		}
		mended := told(0)
		assert.True(t, mended == told(1400*time.Millisecond), "as if it had been done before: nothing of it shows at rest")
		assert.False(t, mended == told(1600*time.Millisecond), "while it is drawn nobody works on it")
	})
}
