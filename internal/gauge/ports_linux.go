package gauge

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// holderOf names a process other than the given one that has the device open, as far
// as this user may see.
func holderOf(device string, except int) string {
	links, _ := filepath.Glob("/proc/[0-9]*/fd/*")
	for _, link := range links {
		target, err := os.Readlink(link)
		if err != nil || target != device {
			continue
		}
		process := filepath.Dir(filepath.Dir(link))
		if filepath.Base(process) == strconv.Itoa(except) {
			continue
		}
		name, err := os.ReadFile(filepath.Join(process, "comm"))
		if err != nil {
			continue
		}
		return fmt.Sprintf("%s (process %s)", strings.TrimSpace(string(name)), filepath.Base(process))
	}
	return ""
}

// stableName returns the name that stays the same whichever socket a USB port is
// plugged into and in whatever order, empty if there is none.
func stableName(device string) string {
	links, _ := filepath.Glob("/dev/serial/by-id/*")
	for _, link := range links {
		if target, err := filepath.EvalSymlinks(link); err == nil && target == device {
			return link
		}
	}
	return ""
}
