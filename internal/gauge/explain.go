package gauge

import (
	"fmt"
	"runtime"
	"strings"
	"time"
)

// scene is what can be seen around a port that failed, without opening it. Each field
// is a symptom of one cause; none is set without it.
type scene struct {
	system string // as runtime.GOOS names it
	// holder is the process that has the port, as far as this user may see.
	holder string
	// young says that the port was made some seconds ago.
	young bool
	// group may use the device; shut says that no group may.
	group string
	shut  bool
	// portless is the VID:PID of a USB serial bridge that is plugged in and has no port.
	portless string
	// wsl says that this is Linux inside Windows.
	wsl bool
}

// lookAgain is how long a scene is believed: to see it, every process is asked for its
// files, which is too much to do for each of many attempts.
const lookAgain = 5 * time.Second

// surroundings remembers the last scene of a port.
type surroundings struct {
	port  string
	fault Fault
	at    time.Time
	scene scene
}

// classify is like the function of that name, for attempts that follow each other.
func (s *surroundings) classify(m moment, a Address, err error) error {
	f := faultOf(runtime.GOOS, m, err)
	if s.at.IsZero() || s.port != a.Target || s.fault != f || time.Since(s.at) >= lookAgain {
		*s = surroundings{port: a.Target, fault: f, at: time.Now(), scene: lookAround(a.Target, f)}
	}
	return explain(s.scene, m, a, f, err)
}

// explain says what was found and what to do about it.
func explain(s scene, m moment, a Address, f Fault, err error) error {
	text := fmt.Sprintf("gauge %s: %s (%s %s: %v)", a, s.advice(a, f), m, a.Target, err)
	return &PortError{Address: a, Fault: f, Err: err, text: text}
}

func (s scene) advice(a Address, f Fault) string {
	switch f {
	case FaultAbsent:
		return s.absent(a.Target)
	case FaultBusy:
		return s.busy(a.Target)
	case FaultPermission:
		return s.forbidden()
	case FaultNotSerial:
		if s.system == "windows" {
			return fmt.Sprintf("not a serial port, or one that does not do %d baud; see boretight ports for the ports there are", a.Baud)
		}
		return "not a serial port; see boretight ports for the ports there are"
	case FaultSettings:
		return fmt.Sprintf("the port does not do %d baud; choose another with ?baud=", a.Baud)
	case FaultGone:
		return "the port is gone: unplugged, or the gauge lost its power; plug it in again"
	}
	return "the port does not work; unplug it and plug it in again, or use another"
}

func (s scene) absent(port string) string {
	what := "no such port; plug the gauge in, or see boretight ports for the ports there are"
	switch {
	case s.system == "windows" && !comPort(port):
		what += "; they are named COM1, COM2 and so on here"
	case s.system == "darwin":
		what += calloutHint(port)
	case s.wsl:
		what += "; Linux inside Windows sees no USB port by itself: use the Windows program, or pass the port on with usbipd"
	case s.portless != "":
		what += fmt.Sprintf("; a USB serial bridge (%s) is plugged in and has no port: brltty takes such bridges for braille displays, so if none is in use, remove brltty and plug the gauge in again", s.portless)
	}
	return what
}

func (s scene) busy(port string) string {
	const what = "the port is in use by "
	switch {
	case strings.HasPrefix(s.holder, "ModemManager "):
		return what + s.holder + `, which looks for a modem at each new port: wait half a minute, or have it leave the gauge alone with a udev rule (ENV{ID_MM_DEVICE_IGNORE}="1") or without it`
	case s.holder != "":
		return what + s.holder + "; close that program and try again"
	case s.system == "linux" && s.young:
		return what + "another program; it was plugged in just now, so that may be ModemManager looking for a modem: wait half a minute"
	}
	hint := what + "another program; close that program (a serial monitor, another boretight) and try again"
	switch s.system {
	case "windows":
		hint += ", or unplug the gauge and plug it in again"
	case "darwin":
		hint += calloutHint(port)
	}
	return hint
}

func (s scene) forbidden() string {
	const what = "no permission to open the port"
	switch {
	case s.system == "windows":
		return what + "; close other programs that may hold it, or start as administrator"
	case s.system != "linux":
		return what + "; see who owns the device file and ask for access"
	case s.shut:
		return what + `; no group may use it: give it one with a udev rule (GROUP="` + s.group + `", MODE="0660") and plug it in again`
	case s.young:
		return what + "; it was plugged in just now and may get its permissions in a moment; else add yourself to its group with: sudo usermod -aG " + s.group + " $USER, then log in again"
	}
	return what + "; add yourself to its group with: sudo usermod -aG " + s.group + " $USER, then log in again"
}

// calloutHint is for the two names that macOS gives each port: tty.* waits for a
// carrier that no gauge gives.
func calloutHint(port string) string {
	if name, ok := strings.CutPrefix(port, "/dev/tty."); ok {
		return "; use the port's other name, /dev/cu." + name
	}
	return ""
}

// comPort reports whether a name is COM and a number, with the prefix or without.
func comPort(name string) bool {
	digits, ok := strings.CutPrefix(comName(name), "COM")
	return ok && digits != "" && strings.Trim(digits, "0123456789") == ""
}
