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
	for _, d := range details {
		if d.Name != "" && listed(d.Name) {
			ports = append(ports, Port{
				Device: d.Name, Stable: stableName(d.Name),
				USB: d.IsUSB, VID: d.VID, PID: d.PID, Serial: d.SerialNumber, Product: d.Product,
			})
		}
	}
	if len(ports) == len(details) && !namesApart {
		return ports, nil
	}
	names, err := serial.GetPortsList()
	return withNames(ports, names), err
}
