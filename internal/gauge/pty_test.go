//go:build unix

package gauge_test

import (
	"io"
	"os"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"go.bug.st/serial"
	"golang.org/x/sys/unix"
)

// terminal is a pseudo-terminal: the end that a gauge would be, and the port's name.
type terminal struct {
	gauge *os.File
	port  string
}

// newTerminal makes a pseudo-terminal in raw mode; while its port's end is held open
// here, the mode stays and bytes written before the port is opened are kept.
func newTerminal(t *testing.T) *terminal {
	t.Helper()
	blocking, slave, err := pty.Open()
	require.NoError(t, err)
	// The library hands out a master whose Close does not end a Read that waits.
	fd, err := unix.FcntlInt(blocking.Fd(), unix.F_DUPFD_CLOEXEC, 0)
	require.NoError(t, err)
	require.NoError(t, unix.SetNonblock(fd, true))
	require.NoError(t, blocking.Close())
	master := os.NewFile(uintptr(fd), "pseudo-terminal")
	t.Cleanup(func() { master.Close(); slave.Close() })
	makeRaw(t, slave)
	return &terminal{gauge: master, port: slave.Name()}
}

// makeRaw switches echo and translation off by opening and closing the port once
// with the serial library, while slave keeps it alive.
func makeRaw(t *testing.T, slave *os.File) {
	t.Helper()
	port, err := serial.Open(slave.Name(), &serial.Mode{})
	require.NoError(t, err)
	require.NoError(t, port.Close())
}

// say writes what a gauge would.
func (p *terminal) say(t *testing.T, text string) {
	t.Helper()
	_, err := io.WriteString(p.gauge, text)
	require.NoError(t, err)
}

// unplug takes the gauge away.
func (p *terminal) unplug(t *testing.T) {
	t.Helper()
	require.NoError(t, p.gauge.Close())
}
