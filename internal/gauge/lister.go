package gauge

import "time"

// relist is when ports are listed again though nothing seems to have changed.
const relist = 10 * time.Second

// lister lists the serial ports for a gauge that is looked for again and again. A
// list is dear (some systems open every port, or ask every USB device), so it is
// made anew only when the system's ports have changed.
type lister struct {
	stamp string
	at    time.Time
	last  []Port
}

// ports returns the serial ports of now, without notes.
func (l *lister) ports() ([]Port, error) {
	stamp := portsStamp()
	if stamp != "" && stamp == l.stamp && time.Since(l.at) < relist {
		return l.last, nil
	}
	ports, err := serialPorts()
	if err != nil {
		return nil, err
	}
	l.stamp, l.at, l.last = stamp, time.Now(), ports
	return ports, nil
}
