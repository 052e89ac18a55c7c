package gauge

import (
	"errors"
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

func (m moment) String() string {
	if m == reading {
		return "read"
	}
	return "open"
}

// classify makes a PortError of what the serial library or the system said. It and
// what it calls are the one place that knows how they say it.
func classify(m moment, a Address, err error) error {
	f := faultOf(runtime.GOOS, m, err)
	return explain(lookAround(a.Target, f), m, a, f, err)
}

// faultOf says what is wrong. Numbers of errors mean other things on Windows.
func faultOf(system string, m moment, err error) Fault {
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
		return faultOfCode(pe.Code())
	}
	if system == "windows" {
		if number, ok := errors.AsType[syscall.Errno](err); ok {
			return faultOnWindows[number]
		}
	}
	return faultOnUnix(err)
}

// faultOfCode reads the serial library's own codes.
func faultOfCode(code serial.PortErrorCode) Fault {
	switch code {
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
	return FaultOther
}

// faultOnUnix reads what the system says, for what the library passes on as it is.
func faultOnUnix(err error) Fault {
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENOTDIR), errors.Is(err, syscall.ENXIO), errors.Is(err, syscall.ENODEV),
		errors.Is(err, syscall.EIO): // a port whose other side went away while it is opened
		return FaultAbsent
	case errors.Is(err, syscall.EBUSY):
		return FaultBusy
	case errors.Is(err, fs.ErrPermission):
		return FaultPermission
	case errors.Is(err, syscall.EISDIR), errors.Is(err, syscall.ENOTTY), errors.Is(err, syscall.EINVAL):
		return FaultNotSerial
	}
	return FaultOther
}

// faultOnWindows reads the system error codes of Windows (winerror.h) that drivers of
// serial ports answer an opening with; the library itself names only 2 and 5.
var faultOnWindows = map[syscall.Errno]Fault{
	2:    FaultAbsent,     // ERROR_FILE_NOT_FOUND
	3:    FaultAbsent,     // ERROR_PATH_NOT_FOUND
	5:    FaultBusy,       // ERROR_ACCESS_DENIED: a port has one user at a time
	20:   FaultAbsent,     // ERROR_BAD_UNIT
	21:   FaultAbsent,     // ERROR_NOT_READY
	22:   FaultGone,       // ERROR_BAD_COMMAND: the driver is there, the device is not
	31:   FaultGone,       // ERROR_GEN_FAILURE: a device attached to the system is not functioning
	32:   FaultBusy,       // ERROR_SHARING_VIOLATION
	55:   FaultGone,       // ERROR_DEV_NOT_EXIST
	87:   FaultSettings,   // ERROR_INVALID_PARAMETER
	121:  FaultGone,       // ERROR_SEM_TIMEOUT: a wireless port whose device is off
	123:  FaultAbsent,     // ERROR_INVALID_NAME
	170:  FaultBusy,       // ERROR_BUSY
	433:  FaultGone,       // ERROR_NO_SUCH_DEVICE
	1167: FaultGone,       // ERROR_DEVICE_NOT_CONNECTED
	1314: FaultPermission, // ERROR_PRIVILEGE_NOT_HELD
	1617: FaultGone,       // ERROR_DEVICE_REMOVED
}

// isCode reports whether err is the serial library's error of that code.
func isCode(err error, code serial.PortErrorCode) bool {
	pe, ok := errors.AsType[*serial.PortError](err)
	return ok && pe.Code() == code
}
