package gauge

import "strings"

// usbIdentity is what USB tells of the device behind a port. The zero value stands
// for a port that is not USB or of which nothing is known.
type usbIdentity struct {
	vid, pid string
	serial   string // empty where the device has none, or one that all its kind have
	stable   string // name by identity, where the system gives one
}

func identityOf(p Port) usbIdentity {
	if !p.USB {
		return usbIdentity{}
	}
	id := usbIdentity{vid: strings.ToUpper(p.VID), pid: strings.ToUpper(p.PID), stable: p.Stable}
	if distinctive(p.Serial) {
		id.serial = strings.ToUpper(p.Serial)
	}
	return id
}

func (id usbIdentity) known() bool { return id.vid != "" && id.pid != "" }

// sameKind reports whether both are of one make and model.
func (id usbIdentity) sameKind(other usbIdentity) bool {
	return id.known() && id.vid == other.vid && id.pid == other.pid
}

// same reports whether both are the same device for certain.
func (id usbIdentity) same(other usbIdentity) bool {
	return id.sameKind(other) && id.serial != "" && id.serial == other.serial &&
		// An adapter with several ports has one serial number for all of them.
		(id.stable == "" || other.stable == "" || id.stable == other.stable)
}

// differs reports whether they cannot be the same device.
func (id usbIdentity) differs(other usbIdentity) bool {
	if !id.known() || !other.known() {
		return false
	}
	return !id.sameKind(other) || (id.serial != "" && other.serial != "" && id.serial != other.serial)
}

// distinctive reports whether a serial number tells a device from others of its
// kind. Cheap bridges have none, or one that came with the chip's sample settings:
// 0001, 0, 0123456789ABCDEF (common practice, no source).
func distinctive(serial string) bool {
	digits := strings.ToUpper(strings.TrimLeft(strings.TrimSpace(serial), "0"))
	return len(digits) >= 2 && !strings.HasPrefix("123456789ABCDEF", digits)
}
