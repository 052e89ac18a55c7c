//go:build unix

package gauge

import (
	"runtime"
	"strings"

	"golang.org/x/sys/unix"
)

// listed leaves out the second name that macOS gives each port: tty.* waits for a
// carrier that no gauge gives, cu.* does not.
func listed(device string) bool {
	return runtime.GOOS != "darwin" || strings.HasPrefix(device, "/dev/cu.")
}

// noted adds what can be told without opening the port, which may reset a gauge.
func noted(p Port) Port {
	switch {
	case unix.Access(p.Device, unix.R_OK|unix.W_OK) != nil:
		p.Note = "no permission"
	default:
		if holder := holderOf(p.Device); holder != "" {
			p.Note = "in use by " + holder
		}
	}
	p.Stable = stableName(p.Device)
	return p
}
