package gauge_test

import (
	"errors"
	"fmt"
	"io/fs"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.bug.st/serial"

	"boretight/internal/gauge"
)

// faults are all that a port can have.
var faults = []gauge.Fault{
	gauge.FaultOther, gauge.FaultAbsent, gauge.FaultBusy, gauge.FaultPermission,
	gauge.FaultNotSerial, gauge.FaultSettings, gauge.FaultGone,
}

var systems = []string{"linux", "windows", "darwin", "freebsd"}

const (
	absentText = "no such port; plug the gauge in, or see boretight ports for the ports there are"
	busyText   = "the port is in use by another program; close that program (a serial monitor, another boretight) and try again"
	forbidden  = "no permission to open the port"
	otherText  = "the port does not work; unplug it and plug it in again, or use another"
	goneText   = "the port is gone: unplugged, or the gauge lost its power; plug it in again"
	notSerial  = "not a serial port; see boretight ports for the ports there are"
	baudText   = "the port does not do 12345 baud; choose another with ?baud="
)

func TestFaultsAreExplainedForTheSystem(t *testing.T) {
	want := map[gauge.Fault]map[string]string{
		gauge.FaultOther:  {"": otherText},
		gauge.FaultAbsent: {"": absentText},
		gauge.FaultBusy:   {"": busyText, "windows": busyText + ", or unplug the gauge and plug it in again"},
		gauge.FaultPermission: {
			"":        forbidden + "; see who owns the device file and ask for access",
			"linux":   forbidden + "; add yourself to its group with: sudo usermod -aG uucp $USER, then log in again",
			"windows": forbidden + "; close other programs that may hold it, or start as administrator",
		},
		gauge.FaultNotSerial: {"": notSerial,
			"windows": "not a serial port, or one that does not do 12345 baud; see boretight ports for the ports there are"},
		gauge.FaultSettings: {"": baudText},
		gauge.FaultGone:     {"": goneText},
	}
	a := gauge.Address{Scheme: gauge.Serial, Target: "COM5", Baud: 12345}
	cause := errors.New("cause")
	for _, system := range systems {
		for _, fault := range faults {
			text, ok := want[fault][system]
			if !ok {
				text = want[fault][""]
			}
			err := gauge.Explain(gauge.Scene{System: system, Group: "uucp"}, a, fault, cause)
			assert.EqualError(t, err, "gauge serial:COM5?baud=12345: "+text+" (open COM5: cause)", "%s, fault %d", system, fault)
			assert.ErrorIs(t, err, cause)
		}
	}
}

func TestHintsStandWhereTheirSymptomIs(t *testing.T) {
	const (
		modem   = "ModemManager"
		braille = "brltty"
	)
	for _, c := range []struct {
		name, port string
		scene      gauge.Scene
		fault      gauge.Fault
		want       string
	}{
		{"a modem manager that is seen", "/dev/ttyUSB0", gauge.Scene{System: "linux", Holder: "ModemManager (process 812)", Young: true}, gauge.FaultBusy,
			`the port is in use by ModemManager (process 812), which looks for a modem at each new port: wait half a minute, or have it leave the gauge alone with a udev rule (ENV{ID_MM_DEVICE_IGNORE}="1") or without it`},
		{"a port that is busy just after it was plugged in", "/dev/ttyUSB0", gauge.Scene{System: "linux", Young: true}, gauge.FaultBusy,
			"the port is in use by another program; it was plugged in just now, so that may be ModemManager looking for a modem: wait half a minute"},
		{"another program that is seen", "/dev/ttyUSB0", gauge.Scene{System: "linux", Holder: "minicom (process 7)", Young: true}, gauge.FaultBusy,
			"the port is in use by minicom (process 7); close that program and try again"},
		{"a bridge without a port", "/dev/ttyUSB0", gauge.Scene{System: "linux", Portless: "1a86:7523"}, gauge.FaultAbsent,
			absentText + "; a USB serial bridge (1a86:7523) is plugged in and has no port: brltty takes such bridges for braille displays, so if none is in use, remove brltty and plug the gauge in again"},
		{"Linux inside Windows", "/dev/ttyUSB0", gauge.Scene{System: "linux", WSL: true}, gauge.FaultAbsent,
			absentText + "; Linux inside Windows sees no USB port by itself: use the Windows program, or pass the port on with usbipd"},
		{"a device that no group may use", "/dev/ttyUSB0", gauge.Scene{System: "linux", Group: "dialout", Shut: true}, gauge.FaultPermission,
			forbidden + `; no group may use it: give it one with a udev rule (GROUP="dialout", MODE="0660") and plug it in again`},
		{"a device that was plugged in just now", "/dev/ttyUSB0", gauge.Scene{System: "linux", Group: "dialout", Young: true}, gauge.FaultPermission,
			forbidden + "; it was plugged in just now and may get its permissions in a moment; else add yourself to its group with: sudo usermod -aG dialout $USER, then log in again"},
		{"a name of another system on Windows", "/dev/ttyUSB0", gauge.Scene{System: "windows"}, gauge.FaultAbsent,
			absentText + "; they are named COM1, COM2 and so on here"},
		{"a name with a colon on Windows", "COM5:", gauge.Scene{System: "windows"}, gauge.FaultAbsent,
			absentText + "; they are named COM1, COM2 and so on here"},
		{"a high number on Windows", "COM12", gauge.Scene{System: "windows"}, gauge.FaultAbsent, absentText},
		{"a name with its prefix on Windows", `\\.\com12`, gauge.Scene{System: "windows"}, gauge.FaultAbsent, absentText},
		{"the waiting name on macOS", "/dev/tty.usbserial-1420", gauge.Scene{System: "darwin"}, gauge.FaultAbsent,
			absentText + "; use the port's other name, /dev/cu.usbserial-1420"},
		{"the waiting name on macOS in use", "/dev/tty.usbserial-1420", gauge.Scene{System: "darwin"}, gauge.FaultBusy,
			busyText + "; use the port's other name, /dev/cu.usbserial-1420"},
		{"the right name on macOS", "/dev/cu.usbserial-1420", gauge.Scene{System: "darwin"}, gauge.FaultBusy, busyText},
	} {
		a := gauge.Address{Scheme: gauge.Serial, Target: c.port, Baud: 115200}
		err := gauge.Explain(c.scene, a, c.fault, errors.New("cause"))
		assert.EqualError(t, err, fmt.Sprintf("gauge %s: %s (open %s: cause)", a, c.want, c.port), c.name)
		for _, other := range faults {
			if other == c.fault {
				continue
			}
			text := gauge.Explain(c.scene, a, other, errors.New("cause")).Error()
			if other != gauge.FaultBusy {
				assert.NotContains(t, text, modem, "%s, fault %d", c.name, other)
			}
			if other != gauge.FaultAbsent {
				assert.NotContains(t, text, braille, "%s, fault %d", c.name, other)
			}
		}
	}
}

func TestWhatSystemsSayIsClassified(t *testing.T) {
	for _, c := range []struct {
		system string
		err    error
		want   gauge.Fault
	}{
		{"linux", syscall.ENOENT, gauge.FaultAbsent},
		{"linux", syscall.ENXIO, gauge.FaultAbsent},
		{"linux", syscall.ENODEV, gauge.FaultAbsent},
		{"linux", syscall.ENOTDIR, gauge.FaultAbsent},
		{"linux", syscall.EIO, gauge.FaultAbsent},
		{"linux", syscall.EBUSY, gauge.FaultBusy},
		{"linux", syscall.EACCES, gauge.FaultPermission},
		{"linux", syscall.EPERM, gauge.FaultPermission},
		{"linux", syscall.EISDIR, gauge.FaultNotSerial},
		{"linux", syscall.ENOTTY, gauge.FaultNotSerial},
		{"linux", syscall.EINVAL, gauge.FaultNotSerial},
		{"linux", syscall.EMFILE, gauge.FaultOther},
		{"darwin", fmt.Errorf("open: %w", fs.ErrNotExist), gauge.FaultAbsent},
		{"windows", syscall.Errno(2), gauge.FaultAbsent},
		{"windows", syscall.Errno(3), gauge.FaultAbsent},
		{"windows", syscall.Errno(5), gauge.FaultBusy},
		{"windows", syscall.Errno(20), gauge.FaultAbsent},
		{"windows", syscall.Errno(21), gauge.FaultAbsent},
		{"windows", syscall.Errno(22), gauge.FaultGone},
		{"windows", syscall.Errno(31), gauge.FaultGone},
		{"windows", syscall.Errno(32), gauge.FaultBusy},
		{"windows", syscall.Errno(55), gauge.FaultGone},
		{"windows", syscall.Errno(87), gauge.FaultSettings},
		{"windows", syscall.Errno(121), gauge.FaultGone},
		{"windows", syscall.Errno(123), gauge.FaultAbsent},
		{"windows", syscall.Errno(170), gauge.FaultBusy},
		{"windows", syscall.Errno(433), gauge.FaultGone},
		{"windows", syscall.Errno(1167), gauge.FaultGone},
		{"windows", syscall.Errno(1314), gauge.FaultPermission},
		{"windows", syscall.Errno(1617), gauge.FaultGone},
		{"windows", syscall.Errno(8), gauge.FaultOther},
		{"linux", errors.New("anything"), gauge.FaultOther},
	} {
		assert.Equal(t, c.want, gauge.FaultOnOpening(c.system, c.err), "%s: %v", c.system, c.err)
		assert.Equal(t, gauge.FaultGone, gauge.FaultOnReading(c.system, c.err), "%s: %v", c.system, c.err)
	}
}

// The library's codes cannot be made here except by opening something.
func TestTheLibrarySaysThatAFileIsNoPort(t *testing.T) {
	_, err := serial.Open(t.TempDir(), &serial.Mode{})
	require.Error(t, err)
	assert.Equal(t, gauge.FaultNotSerial, gauge.FaultOnOpening("linux", err))
}

func TestHighNumbersOfPortsReachTheLibraryAsTheyAre(t *testing.T) {
	// It puts the prefix that COM10 and above need before names without it.
	for _, port := range []string{"COM10", "COM256", `\\.\COM10`} {
		a, err := gauge.ParseAddress("serial:" + port)
		require.NoError(t, err)
		assert.Equal(t, port, a.Target)
	}
}
