//go:build !darwin || cgo

package gauge

import (
	"go.bug.st/serial"
	"go.bug.st/serial/enumerator"
)

// serialPorts asks the system for its serial ports and what USB knows of them.
func serialPorts() ([]Port, error) {
	details, err := enumerator.GetDetailedPortsList()
	if err != nil {
		return nil, err
	}
	var ports []Port
	named := map[string]bool{}
	for _, d := range details {
		if d.Name == "" || !listed(d.Name) {
			continue
		}
		named[d.Name] = true
		ports = append(ports, Port{
			Device: d.Name, Stable: stableName(d.Name),
			USB: d.IsUSB, VID: d.VID, PID: d.PID, Serial: d.SerialNumber, Product: d.Product,
		})
	}
	if len(named) == len(details) {
		return ports, nil
	}
	// A port of which the system knows nothing further comes back without its name.
	names, err := serial.GetPortsList()
	for _, name := range names {
		if !named[name] && listed(name) {
			ports = append(ports, Port{Device: name, Stable: stableName(name)})
		}
	}
	return ports, err
}
