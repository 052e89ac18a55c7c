//go:build unix

package gauge

import (
	"fmt"
	"os"
	"runtime"
	"strings"
	"time"

	"golang.org/x/sys/unix"
)

// namesApart is false: the detailed list is made from the names, and asking for those
// again would open ports again.
const namesApart = false

// listed leaves out the second name that macOS gives each port: tty.* waits for a
// carrier that no gauge gives, cu.* does not.
func listed(device string) bool {
	return runtime.GOOS != "darwin" || strings.HasPrefix(device, "/dev/cu.")
}

// note tells what can be told against a port without opening it, which may reset a gauge.
func note(device string) string {
	if unix.Access(device, unix.R_OK|unix.W_OK) != nil {
		return "no permission"
	}
	if holder := holderOf(device, os.Getpid()); holder != "" {
		return "in use by " + holder
	}
	return ""
}

// stampOf tells a port from the one that had its name before: a new one is another
// file. Empty where there is none.
func stampOf(device string) string {
	var s unix.Stat_t
	if unix.Stat(device, &s) != nil {
		return ""
	}
	return fmt.Sprint(s.Ino, s.Rdev)
}

// portsStamp changes when a device comes, goes or is plugged in anew: the folder
// of devices is then written to. It changes for other devices too, which costs one
// look too many.
func portsStamp() string {
	var s unix.Stat_t
	if unix.Stat("/dev", &s) != nil {
		return ""
	}
	return fmt.Sprint(time.Duration(s.Mtim.Nano()))
}
