package gauge

import (
	"errors"
	"fmt"
	"io/fs"
	"runtime"
	"syscall"

	"go.bug.st/serial"
)

// Fault says what is wrong with a port or a connection.
type Fault uint8

const (
	// FaultOther is anything not named below.
	FaultOther Fault = iota
	// FaultAbsent: there is no such port, or nobody answers at the address.
	FaultAbsent
	// FaultBusy: another program has the port.
	FaultBusy
	// FaultPermission: this user may not open the port.
	FaultPermission
	// FaultNotSerial: what the address names is no serial port.
	FaultNotSerial
	// FaultSettings: the port does not do what was asked of it.
	FaultSettings
	// FaultGone: the device was there and has gone away.
	FaultGone
	// FaultStranger: another gauge answers, or a device that may be anything.
	FaultStranger
)

// PortError is returned by Run when a device cannot be opened or is gone.
type PortError struct {
	Address Address
	Fault   Fault
	Err     error // what the system said
	text    string
}

// Error says what was found and what to do next.
func (e *PortError) Error() string { return e.text }

// Unwrap returns what the system said.
func (e *PortError) Unwrap() error { return e.Err }

// moment says what was being done when a port failed.
type moment uint8

const (
	opening moment = iota
	reading
)

// classify makes a PortError of what the serial library or the system said. It is
// the one place that knows how they say it.
func classify(m moment, a Address, err error) error {
	return explain(runtime.GOOS, a, faultOf(m, err), err)
}

func faultOf(m moment, err error) Fault {
	if m == reading {
		// Whatever a port that was open says, other than that we may not read it
		// here, it is of no more use: code 10 on Linux, and on Windows one of
		// several numbers that depend on the driver.
		if errors.Is(err, errUnreadable) {
			return FaultOther
		}
		return FaultGone
	}
	if pe, ok := errors.AsType[*serial.PortError](err); ok {
		switch pe.Code() {
		case serial.PortBusy:
			return FaultBusy
		case serial.PortNotFound:
			return FaultAbsent
		case serial.PermissionDenied:
			return FaultPermission
		case serial.InvalidSerialPort:
			return FaultNotSerial
		case serial.InvalidSpeed, serial.InvalidDataBits, serial.InvalidParity, serial.InvalidStopBits, serial.InvalidTimeoutValue:
			return FaultSettings
		case serial.PortClosed:
			return FaultGone
		}
	}
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENOTDIR), errors.Is(err, syscall.ENXIO), errors.Is(err, syscall.ENODEV):
		return FaultAbsent
	case errors.Is(err, syscall.EIO):
		return FaultAbsent // a port whose other side went away while it is opened
	case errors.Is(err, syscall.EBUSY):
		return FaultBusy
	case errors.Is(err, fs.ErrPermission):
		return FaultPermission
	case errors.Is(err, syscall.EISDIR), errors.Is(err, syscall.ENOTTY), errors.Is(err, syscall.EINVAL):
		return FaultNotSerial
	}
	return FaultOther
}

// explain adds what to do about a fault on the given system.
func explain(system string, a Address, f Fault, err error) error {
	var what string
	switch f {
	case FaultAbsent:
		what = "no such port; plug the gauge in, or see boretight ports for the ports there are"
	case FaultBusy:
		what = "the port is in use by another program; close that program (a serial monitor, another boretight) and try again"
		if system == "windows" {
			what += ", or unplug the gauge and plug it in again"
		}
	case FaultPermission:
		what = "no permission to open the port"
		switch system {
		case "linux":
			what += "; add yourself to its group, mostly with: sudo usermod -aG dialout $USER, then log in again"
		case "windows":
			what += "; close other programs that may hold it, or start as administrator"
		default:
			what += "; see who owns the device file and ask for access"
		}
	case FaultNotSerial:
		what = "not a serial port; see boretight ports for the ports there are"
	case FaultSettings:
		what = fmt.Sprintf("the port does not do %d baud; choose another with ?baud=", a.Baud)
	case FaultGone:
		what = "the port is gone: unplugged, or the gauge lost its power; plug it in again"
	default:
		what = "the port does not work"
	}
	return &PortError{Address: a, Fault: f, Err: err, text: fmt.Sprintf("gauge %s: %s (%v)", a, what, err)}
}

// isCode reports whether err is the serial library's error of that code.
func isCode(err error, code serial.PortErrorCode) bool {
	pe, ok := errors.AsType[*serial.PortError](err)
	return ok && pe.Code() == code
}
