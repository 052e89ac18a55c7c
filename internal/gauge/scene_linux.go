package gauge

import (
	"os"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"golang.org/x/sys/unix"
)

// youngFor is how long a port counts as just plugged in: rules have run and modems
// have been looked for by then.
const youngFor = 30 * time.Second

// lookAround sees what may explain a fault of a port.
func lookAround(port string, f Fault) scene {
	s := scene{system: "linux"}
	switch f {
	case FaultAbsent:
		s.wsl = isWSL("/proc/sys/kernel/osrelease")
		s.portless = portlessBridge("/sys/bus/usb/devices")
	case FaultBusy:
		s.holder = holderOf(realPort(port), os.Getpid())
		s.young = isYoung(port)
	case FaultPermission:
		s.group, s.shut = groupOf(port)
		s.young = isYoung(port)
	}
	return s
}

func isWSL(release string) bool {
	text, err := os.ReadFile(release)
	return err == nil && strings.Contains(strings.ToLower(string(text)), "microsoft")
}

// brailleBridges are the USB bridges that brltty takes for braille displays. Common
// practice, no source.
var brailleBridges = [...]string{"1a86:7523", "10c4:ea60"}

// portlessBridge returns such a bridge that is plugged in and has no port.
func portlessBridge(devices string) string {
	vendors, _ := filepath.Glob(filepath.Join(devices, "*", "idVendor"))
	for _, vendor := range vendors {
		device := filepath.Dir(vendor)
		id := attribute(vendor) + ":" + attribute(filepath.Join(device, "idProduct"))
		for _, bridge := range brailleBridges {
			if id != bridge {
				continue
			}
			if ports, _ := filepath.Glob(filepath.Join(device, "*", "ttyUSB*")); len(ports) == 0 {
				return id
			}
		}
	}
	return ""
}

func attribute(path string) string {
	text, err := os.ReadFile(path)
	if err != nil {
		return ""
	}
	return strings.ToLower(strings.TrimSpace(string(text)))
}

// groupOf returns the group that may use a device or, where none may, says so and
// returns the one that usually does.
func groupOf(device string) (name string, shut bool) {
	var s unix.Stat_t
	if unix.Stat(device, &s) != nil {
		return usualGroup(), false
	}
	const readWrite = 0o060
	if s.Mode&readWrite != readWrite || s.Gid == 0 {
		return usualGroup(), true
	}
	group, err := user.LookupGroupId(strconv.FormatUint(uint64(s.Gid), 10))
	if err != nil {
		return usualGroup(), false
	}
	return group.Name, false
}

// usualGroup is dialout, or uucp where there is that and no dialout.
func usualGroup() string {
	if _, err := user.LookupGroup("dialout"); err != nil {
		if _, err := user.LookupGroup("uucp"); err == nil {
			return "uucp"
		}
	}
	return "dialout"
}

// isYoung reports whether a USB port was made just now; others come and go without
// anybody's looking at them.
func isYoung(device string) bool {
	device = realPort(device)
	if name := filepath.Base(device); !strings.HasPrefix(name, "ttyUSB") && !strings.HasPrefix(name, "ttyACM") {
		return false
	}
	var s unix.Stat_t
	return unix.Stat(device, &s) == nil && time.Since(time.Unix(s.Ctim.Unix())) < youngFor
}
