//go:build unix

package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge"
	"boretight/internal/trace"
)

// TestPortsAreListenedTo asks the program itself, on this machine's own ports, whatever
// they are: the environment tells an address by the flag's name, which is not meant.
func TestPortsAreListenedTo(t *testing.T) {
	t.Parallel()
	c := exec.Command(programPath(t), "ports", "--listen", "--json")
	c.Env = append(c.Environ(), "BORETIGHT_LISTEN=127.0.0.1:8417")
	var said, complained bytes.Buffer
	c.Stdout, c.Stderr = &said, &complained
	err := c.Run()
	if exit, ok := errors.AsType[*exec.ExitError](err); ok {
		require.Equal(t, int(undecided), exit.ExitCode(), complained.String())
	}
	for line := range bytes.Lines(said.Bytes()) {
		var l foundLine
		require.NoError(t, json.Unmarshal(line, &l))
		assert.Equal(t, "boretight/found/1", l.Schema)
		assert.NotEmpty(t, l.Heard)
	}
}

func TestWhatIsFoundAtAPortIsSaid(t *testing.T) {
	t.Parallel()
	usb := gauge.Port{Device: "/dev/ttyUSB0", USB: true, VID: "1A86", PID: "7523", Serial: "A1", Product: "USB Serial"}
	at := func(text string) gauge.Address {
		a, err := gauge.ParseAddress(text)
		require.NoError(t, err)
		return a
	}
	for want, f := range map[string]gauge.Found{
		"serial:/dev/ttyUSB0  gauge HX-0417, gauge pressure from -7.5 kPa to 7.5 kPa, 100 readings a second; USB Serial, USB 1A86:7523 A1": {
			Port: usb, Heard: gauge.HeardGauge, Address: at("serial:/dev/ttyUSB0"),
			Identity: gauge.Identity{Serial: "HX-0417", Kind: trace.Gauge, MinPa: -7500, MaxPa: 7500, RateHz: 100, Known: true},
		},
		"serial:/dev/ttyS4  a gauge that does not say who it is": {
			Port: gauge.Port{Device: "/dev/ttyS4"}, Heard: gauge.HeardFrames, Address: at("serial:/dev/ttyS4"),
		},
		"serial:/dev/ttyS5?baud=9600&dialect=text  lines with numbers: no unit\n    -2.50\n    -2.51": {
			Port: gauge.Port{Device: "/dev/ttyS5"}, Heard: gauge.HeardText, Address: at("serial:/dev/ttyS5?baud=9600&dialect=text"),
			Lines: []string{"-2.50", "-2.51"}, Err: errors.New("no unit"),
		},
		"/dev/ttyS6  nothing comes": {
			Port: gauge.Port{Device: "/dev/ttyS6"}, Heard: gauge.HeardNothing, Err: errors.New("nothing comes"),
		},
	} {
		assert.Equal(t, want, describeFound(f))
	}
	l := asFoundLine(gauge.Found{Port: usb, Heard: gauge.HeardBusy, Err: errors.New("in use")})
	text, err := json.Marshal(l)
	require.NoError(t, err)
	assert.JSONEq(t, `{"schema":"boretight/found/1","port":"/dev/ttyUSB0","usb":true,"vid":"1A86","pid":"7523","serial":"A1","product":"USB Serial","heard":"busy","says":"in use"}`, string(text))
}
