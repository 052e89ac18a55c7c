package gauge

import (
	"slices"
	"time"
)

const (
	// adoptAfter is how long another gauge must have been there in place of ours,
	// with ours nowhere to be found, before it is taken: long enough for two gauges
	// that were plugged in one after the other to sort themselves out.
	adoptAfter = 10 * time.Second
	// namelessFor is how long a port counts as not ours because nobody said a name
	// there: ours may have been starting, or waiting for its supply.
	namelessFor = 30 * time.Second
)

// memory is what one serial gauge knows of the device that it read before. Only the
// goroutine of Run uses it; the label never changes.
type memory struct {
	label string
	// serial is the number the gauge itself told, empty before it did.
	serial string
	// port is where it was, by the system's name, empty before the first opening.
	port string
	usb  usbIdentity
	// bystanders are the other ports that were there at the time, by their stamp:
	// one of them that was never taken out cannot be what is looked for.
	bystanders map[string]string
	// refused are ports at which another gauge or none answered.
	refused map[string]refusal
	// restarts counts the openings in a row at which the gauge began anew.
	restarts int
}

// refusal is why a port is not opened again: opening resets some devices, and this
// one is not ours.
type refusal struct {
	stamp  string // of the port then; see stampOf
	serial string // the gauge that answered, empty if none did
	// first and last are when it answered.
	first, last time.Time
}

// candidate is a port at which the gauge may be.
type candidate struct {
	port string
	// proof says that only the gauge's own serial number makes it ours.
	proof bool
}

// candidates returns the ports at which the gauge may be, likeliest first, given
// the real name of the address's port (empty if it is absent), the ports there are
// and where the gauge was met by others (empty if nowhere).
func (m *memory) candidates(named string, ports []Port, met string) []candidate {
	var sure, unsure []candidate
	add := func(list *[]candidate, port string, proof bool) {
		known := func(c candidate) bool { return c.port == port }
		if !slices.ContainsFunc(sure, known) && !slices.ContainsFunc(unsure, known) {
			*list = append(*list, candidate{port, proof})
		}
	}
	if named != "" {
		switch at := usbAt(ports, named); {
		case m.port == "" || !at.differs(m.usb):
			add(&sure, named, false)
		case m.serial != "":
			add(&unsure, named, true) // another adapter, perhaps before the same gauge
		default:
			add(&unsure, named, false) // nothing can tell, and this is what was asked for
		}
	}
	if m.port == "" {
		return append(sure, unsure...)
	}
	var same, kind []string
	for _, p := range ports {
		id := identityOf(p)
		switch {
		case id.same(m.usb):
			same = append(same, realPort(p.Device))
		case id.sameKind(m.usb) && !id.differs(m.usb) && !m.stood(p):
			kind = append(kind, realPort(p.Device))
		}
	}
	if len(same) == 1 {
		add(&sure, same[0], false)
	} else {
		kind = append(same, kind...)
	}
	if m.serial == "" {
		return append(sure, unsure...)
	}
	if met != "" && !usbAt(ports, met).differs(m.usb) {
		add(&sure, met, true)
	}
	for _, port := range kind {
		add(&unsure, port, true)
	}
	return append(sure, unsure...)
}

// stood reports whether a port has been there, untouched, since before ours was lost.
func (m *memory) stood(p Port) bool {
	stamp := stampOf(p.Device)
	return stamp != "" && m.bystanders[p.Device] == stamp
}

// opened notes which port is ours now, among those there are.
func (m *memory) opened(port string, ports []Port) {
	m.port, m.usb = port, usbAt(ports, port)
	m.bystanders = map[string]string{}
	for _, p := range ports {
		if realPort(p.Device) != port {
			m.bystanders[p.Device] = stampOf(p.Device)
		}
	}
}

// refuse notes that a port is not ours.
func (m *memory) refuse(port, serial string, now time.Time) {
	if m.refused == nil {
		m.refused = map[string]refusal{}
	}
	r := refusal{stamp: stampOf(port), serial: serial, first: now, last: now}
	if before, again := m.refused[port]; again && before.serial == serial && before.stamp == r.stamp {
		r.first = before.first
	}
	m.refused[port] = r
}

// standing returns the refusal of a port that still counts.
func (m *memory) standing(port string) (refusal, bool) {
	r, ok := m.refused[port]
	anew := r.stamp != stampOf(port) // another device, or the same plugged in again
	if ok && (anew || r.serial == "" && time.Since(r.last) >= namelessFor) {
		delete(m.refused, port)
		ok = false
	}
	return r, ok
}

// forgive forgets refusals of ports that are no longer there: what comes back may be
// another device.
func (m *memory) forgive(exists func(port string) bool) {
	for port := range m.refused {
		if !exists(port) {
			delete(m.refused, port)
		}
	}
}

// usbAt returns what USB tells of a port, by its real name.
func usbAt(ports []Port, port string) usbIdentity {
	for _, p := range ports {
		if realPort(p.Device) == port {
			return identityOf(p)
		}
	}
	return usbIdentity{}
}
