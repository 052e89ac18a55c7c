//go:build unix

package gauge_test

import (
	"io"
	"os"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// writer is an independent gauge: its checksum is that of Python's binascii, whose
// crc_hqx with an initial value of FFFF is CRC-16/IBM-3740. It writes to standard
// output, which is the gauge's end of a terminal.
const writer = `
import binascii, os
def frame(body):
    return b"$%s*%04X\r\n" % (body, binascii.crc_hqx(body, 0xffff))
out = frame(b"BTID,1,PY-1,A,30000,110000,1,50")
for i in range(500):
    out += frame(b"BTRD,%d,%d,%.2f,%.1f,%02X" % ((4294967196 + i) % 2**32, (4294000000 + i * 20000) % 2**32, 101325 - i / 4, 21.5, 4))
while out:
    out = out[os.write(1, out[:700]):]
`

func TestAGaugeWrittenInAnotherLanguageIsRead(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("python3 is needed")
		}
		t.Skip("no python3 here")
	}
	line, sink := newTerminal(t), newRecorder()
	r := run(t, "serial:"+line.port, sink)
	command := exec.CommandContext(t.Context(), python, "-c", writer)
	// Through this process: the other one would not wait where the terminal is full.
	command.Stdout, command.Stderr = struct{ io.Writer }{line.gauge}, os.Stderr
	require.NoError(t, command.Run())
	sink.await(t, 500)
	r.stop()
	require.NoError(t, r.ended(t))
	stats := r.Stats()
	assert.Zero(t, stats.Damaged)
	assert.Zero(t, stats.Lost)
	assert.Equal(t, "PY-1", stats.Identity.Serial)
	last := sink.readings[499]
	assert.Equal(t, 101200.25, last.Pressure)
	assert.Equal(t, 21.5, last.Celsius)
	assert.Equal(t, 9.98, last.Seconds())
	assert.True(t, last.Status.Usable(), "a low supply is a warning")
	assert.Empty(t, sink.breaks)
}
