package gauge_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/gauge"
)

func TestFaultsAreExplainedForTheSystem(t *testing.T) {
	a := gauge.Address{Scheme: gauge.Serial, Target: "COM5", Baud: 12345}
	cause := errors.New("cause")
	for _, c := range []struct {
		system string
		fault  gauge.Fault
		want   string
	}{
		{"linux", gauge.FaultAbsent, "no such port; plug the gauge in, or see boretight ports for the ports there are"},
		{"linux", gauge.FaultBusy, "the port is in use by another program; close that program (a serial monitor, another boretight) and try again"},
		{"windows", gauge.FaultBusy, "the port is in use by another program; close that program (a serial monitor, another boretight) and try again, or unplug the gauge and plug it in again"},
		{"linux", gauge.FaultPermission, "no permission to open the port; add yourself to its group, mostly with: sudo usermod -aG dialout $USER, then log in again"},
		{"windows", gauge.FaultPermission, "no permission to open the port; close other programs that may hold it, or start as administrator"},
		{"darwin", gauge.FaultPermission, "no permission to open the port; see who owns the device file and ask for access"},
		{"linux", gauge.FaultNotSerial, "not a serial port; see boretight ports for the ports there are"},
		{"linux", gauge.FaultSettings, "the port does not do 12345 baud; choose another with ?baud="},
		{"linux", gauge.FaultGone, "the port is gone: unplugged, or the gauge lost its power; plug it in again"},
		{"linux", gauge.FaultOther, "the port does not work"},
	} {
		err := gauge.Explain(c.system, a, c.fault, cause)
		assert.EqualError(t, err, "gauge serial:COM5?baud=12345: "+c.want+" (cause)")
		assert.ErrorIs(t, err, cause)
	}
}
