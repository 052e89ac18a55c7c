//go:build darwin && !cgo

package gauge

import "go.bug.st/serial"

// serialPorts lists the names alone: what USB knows cannot be asked here without cgo.
func serialPorts() ([]Port, error) {
	names, err := serial.GetPortsList()
	var ports []Port
	for _, name := range names {
		if listed(name) {
			ports = append(ports, Port{Device: name, Stable: stableName(name)})
		}
	}
	return ports, err
}
