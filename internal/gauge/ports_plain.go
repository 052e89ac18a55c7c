//go:build darwin && !cgo

package gauge

import "go.bug.st/serial"

// serialPorts lists the names alone: what USB knows cannot be asked here without cgo.
func serialPorts() ([]Port, error) {
	names, err := serial.GetPortsList()
	return withNames(nil, names), err
}
