package gauge

import (
	"strings"

	"go.bug.st/serial"
)

// namesApart: drivers that are no devices of class Ports have names in the registry only.
const namesApart = true

func listed(string) bool { return true }

// note is empty: whether a port is in use shows only when it is opened, which may
// reset a gauge.
func note(string) string { return "" }

// stableName is empty: the system has one name for each port.
func stableName(string) string { return "" }

// stampOf is empty: nothing here tells whether a port was plugged in anew.
func stampOf(string) string { return "" }

// portsStamp changes when a port comes or goes. The registry is read, nothing opened.
func portsStamp() string {
	names, err := serial.GetPortsList()
	if err != nil {
		return ""
	}
	return strings.Join(names, "\n")
}
