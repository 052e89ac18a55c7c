package gauge

import (
	"cmp"
	"fmt"
	"slices"

	"boretight/internal/gauge/sim"
)

// Port is a place where a gauge may be found.
type Port struct {
	// Device is the system's name of a serial port, empty for a simulated gauge.
	Device string
	// Stable is a name that survives plugging into another socket, empty if none.
	Stable string
	// Scenario is the name of a simulated gauge, and Description what happens in it.
	Scenario, Description string
	// USB says that the port is a USB device; VID and PID (four hexadecimal digits),
	// Serial and Product are then what the system knows of it.
	USB                       bool
	VID, PID, Serial, Product string
	// Note says why the port cannot be opened now: "in use by …", "no permission";
	// empty if nothing is known against it.
	Note string
}

// Address returns what to give to --gauge.
func (p Port) Address() Address {
	if p.Scenario != "" {
		return Address{Scheme: Sim, Target: p.Scenario}
	}
	return Address{Scheme: Serial, Target: p.Device, Baud: DefaultBaud, Dialect: Frames}
}

// Ports lists the serial ports of this machine, USB devices first, then the
// simulated gauges; these come also with an error. It may open ports for a moment to
// see whether they are real, but none of USB: opening resets some gauges.
func Ports() ([]Port, error) {
	ports, err := serialPorts()
	for i := range ports {
		ports[i].Note = note(ports[i].Device)
	}
	if err != nil {
		err = fmt.Errorf("list serial ports: %w", err)
	}
	slices.SortFunc(ports, comparePorts)
	for _, s := range sim.Names() {
		ports = append(ports, Port{Scenario: s.Name, Description: s.Description})
	}
	return ports, err
}

// comparePorts puts USB devices first, and COM5 before COM10.
func comparePorts(a, b Port) int {
	if a.USB != b.USB {
		if a.USB {
			return -1
		}
		return 1
	}
	return cmp.Or(cmp.Compare(len(a.Device), len(b.Device)), cmp.Compare(a.Device, b.Device))
}

// withNames adds the ports of which the system knows the name and nothing else.
func withNames(ports []Port, names []string) []Port {
	for _, name := range names {
		known := func(p Port) bool { return realPort(p.Device) == realPort(name) }
		if listed(name) && !slices.ContainsFunc(ports, known) {
			ports = append(ports, Port{Device: name, Stable: stableName(name)})
		}
	}
	return ports
}
