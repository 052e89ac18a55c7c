//go:build unix

package gauge_test

import (
	"bufio"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge"
	"boretight/internal/gauge/frames"
	"boretight/internal/trace"
)

func TestASerialGaugeIsReadFromTheMiddleOfALineOn(t *testing.T) {
	line, sink := newTerminal(t), newRecorder()
	line.say(t, "2,20,30,,00*ABCD\r\n"+identity+readings(1, 3))
	r := run(t, "serial:"+line.port, sink)
	sink.await(t, 2)
	for _, b := range readings(3, 6) {
		line.say(t, string(b))
	}
	sink.await(t, 5)
	r.stop()
	require.NoError(t, r.ended(t), "the end of the context is no error")

	assert.Equal(t, "IR", sink.order)
	assert.Equal(t, gauge.Identity{
		Version: 1, Serial: "HX-0417", MinPa: -7500, MaxPa: 7500, ResolutionPa: 0.5, RateHz: 100, Known: true,
	}, sink.identities[0])
	assert.Equal(t, -5.0, sink.readings[4].Pressure)
	assert.Equal(t, 4*time.Millisecond, sink.readings[4].T)
	stats := r.Stats()
	assert.Equal(t, gauge.PhaseClosed, stats.Phase)
	assert.EqualValues(t, 5, stats.Readings)
	assert.Zero(t, stats.Damaged)
	assert.Zero(t, stats.Lost)
}

func TestReadingsBeforeTheGaugeSaysWhoItIsCountAsGaugePressure(t *testing.T) {
	line, sink := newTerminal(t), newRecorder()
	r := run(t, "serial:"+line.port, sink)
	line.say(t, readings(1, 2))
	sink.await(t, 1)
	line.say(t, identity+readings(2, 3))
	sink.await(t, 2)
	assert.True(t, r.Stats().Up)
	r.stop()
	require.NoError(t, r.ended(t))
	assert.Equal(t, "IRIR", sink.order)
	assert.Equal(t, gauge.Identity{Kind: trace.Gauge}, sink.identities[0])
	assert.True(t, sink.identities[1].Known)
}

func TestTheGaugeIsAskedWhoItIs(t *testing.T) {
	line := newTerminal(t)
	r := run(t, "serial:"+line.port, newRecorder())
	require.NoError(t, line.gauge.SetReadDeadline(time.Now().Add(patience)))
	got, err := bufio.NewReader(line.gauge).ReadString('\n')
	require.NoError(t, err)
	assert.Equal(t, "?\n", got)
	r.stop()
	require.NoError(t, r.ended(t))
}

func TestBurstsWithDamagedLinesLoseNothingElse(t *testing.T) {
	line, sink := newTerminal(t), newRecorder()
	r := run(t, "serial:"+line.port, sink)
	const total, every = 30_000, 33 // 3 % damaged
	lines := strings.SplitAfter(readings(0, total), "\n")
	damaged := 0
	for i := every; i < total-1; i += every {
		switch i % 3 {
		case 0: // a changed byte
			lines[i] = strings.Replace(lines[i], "BTRD", "BTSD", 1)
		case 1: // missing bytes
			lines[i] = lines[i][:9] + "\n"
		case 2: // noise in place of the line
			lines[i] = "\x80\xFE\x00\r\n"
		}
		damaged++
	}
	for len(lines) > 0 { // a second's worth at 1 kHz in one write
		n := min(1000, len(lines))
		line.say(t, strings.Join(lines[:n], ""))
		lines = lines[n:]
	}
	sink.await(t, total-damaged)
	r.stop()
	require.NoError(t, r.ended(t))
	stats := r.Stats()
	assert.EqualValues(t, total-damaged, stats.Readings)
	assert.EqualValues(t, damaged, stats.Damaged)
	assert.EqualValues(t, damaged, stats.Lost)
	assert.Empty(t, sink.breaks)
}

func TestAnUnpluggedGaugeIsAnErrorThatNamesThePort(t *testing.T) {
	line, sink := newTerminal(t), newRecorder()
	r := run(t, "serial:"+line.port, sink)
	line.say(t, readings(1, 2))
	sink.await(t, 1)
	line.unplug(t)
	err := r.ended(t)
	require.ErrorContains(t, err, "gauge serial:"+line.port+": the port is gone: unplugged, or the gauge lost its power; plug it in again")
	assert.Equal(t, gauge.FaultGone, faultOf(t, err))
	stats := r.Stats()
	assert.Equal(t, gauge.PhaseLost, stats.Phase)
	assert.Equal(t, err.Error(), stats.Trouble)
	assert.False(t, stats.Up)
}

func TestAGaugeThatIsBackGoesOn(t *testing.T) {
	// The second terminal is made before the first is gone, or the system would give
	// both the same name.
	first, second := newTerminal(t), newTerminal(t)
	require.NotEqual(t, first.port, second.port)
	link := filepath.Join(t.TempDir(), "ttyGAUGE")
	require.NoError(t, os.Symlink(first.port, link))

	sink := newRecorder()
	g := open(t, "serial:"+link)
	r := start(t, g, func(ctx context.Context) error { return gauge.Keep(ctx, g, sink, gauge.KeepOptions{}) })
	first.say(t, readings(1, 3))
	sink.await(t, 2)
	require.NoError(t, os.Remove(link))
	first.unplug(t)
	require.NoError(t, os.Symlink(second.port, link))
	second.say(t, readings(1, 4))
	sink.await(t, 5)
	r.stop()
	require.NoError(t, r.ended(t))

	assert.Equal(t, "IRBIR", sink.order)
	assert.Equal(t, gauge.FaultGone, faultOf(t, sink.breaks[0]))
	assert.GreaterOrEqual(t, sink.readings[2].T-sink.readings[1].T, gauge.FirstWait, "time goes on while the gauge is away")
	assert.Equal(t, time.Millisecond, sink.readings[3].T-sink.readings[2].T)
	stats := r.Stats()
	assert.EqualValues(t, 1, stats.Reconnects)
	assert.EqualValues(t, 5, stats.Readings)
	assert.Zero(t, stats.Lost)
}

func TestAGaugeOfAnotherVersionEndsKeep(t *testing.T) {
	pair, sink := newTerminal(t), newRecorder()
	g := open(t, "serial:"+pair.port)
	r := start(t, g, func(ctx context.Context) error { return gauge.Keep(ctx, g, sink, gauge.KeepOptions{NeedFirst: true}) })
	pair.say(t, readings(1, 2)+line("BTID,2,HX-0417,G,-7500,7500,0.5,100"))
	err := r.ended(t)
	assert.EqualError(t, err, "gauge serial:"+pair.port+": gauge speaks frame protocol version 2; this program knows 1: update this program")
	var version *frames.VersionError
	assert.ErrorAs(t, err, &version)
}

func TestPortsThatCannotBeOpened(t *testing.T) {
	folder := t.TempDir()
	file := filepath.Join(folder, "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	terminal := newTerminal(t)
	for _, c := range []struct {
		name, address string
		fault         gauge.Fault
		text          string
	}{
		{"a port that is not there", "serial:" + folder + "/ttyUSB9", gauge.FaultAbsent, "no such port; plug the gauge in"},
		{"a device that is no serial port", "serial:/dev/null", gauge.FaultNotSerial, "not a serial port"},
		{"a file", "serial:" + file, gauge.FaultNotSerial, "not a serial port"},
		{"a folder", "serial:" + folder, gauge.FaultNotSerial, "not a serial port"},
		{"modem lines asked of a port without", "serial:" + terminal.port + "?dtr=off", gauge.FaultNotSerial, "leave out dtr and rts"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := run(t, c.address, newRecorder())
			err := r.ended(t)
			require.ErrorContains(t, err, c.text)
			require.ErrorContains(t, err, "gauge "+c.address)
			assert.Equal(t, c.fault, faultOf(t, err))
			assert.Equal(t, gauge.PhaseLost, r.Stats().Phase)
		})
	}
}

func faultOf(t *testing.T, err error) gauge.Fault {
	t.Helper()
	var port *gauge.PortError
	require.ErrorAs(t, err, &port)
	return port.Fault
}
