package gauge

import (
	"context"
	"errors"
	"fmt"
	"time"

	"go.bug.st/serial"
)

// readTimeout is how often a quiet port is looked at; it bounds how long Run takes
// to notice what Read does not tell.
const readTimeout = 250 * time.Millisecond

// serialGauge is a gauge on a serial port.
type serialGauge struct{ listener }

func newSerial(a Address, o Options) *serialGauge {
	return &serialGauge{newListener(a, o)}
}

// Run implements [Gauge].
func (g *serialGauge) Run(ctx context.Context, sink Sink) error {
	return g.run(ctx, sink, g.open, func(err error) error { return classify(reading, g.address, err) })
}

// open opens the port, 8N1.
func (g *serialGauge) open(context.Context) (device, error) {
	mode := &serial.Mode{BaudRate: g.address.Baud, InitialStatusBits: modemBits(g.address)}
	port, err := serial.Open(g.address.Target, mode)
	if err != nil {
		if mode.InitialStatusBits != nil && isCode(err, serial.InvalidSerialPort) {
			err = fmt.Errorf("%w (or one without modem lines: leave out dtr and rts)", err)
		}
		return nil, classify(opening, g.address, err)
	}
	// Once, before the first Read: changing it during a Read is a data race.
	if err := port.SetReadTimeout(readTimeout); err != nil {
		return nil, errors.Join(classify(opening, g.address, err), port.Close())
	}
	return port, nil
}

// modemBits returns nil unless the address asks for a level: many adapters, and
// every pseudo-terminal, refuse to be asked.
func modemBits(a Address) *serial.ModemOutputBits {
	if a.DTR == LevelDefault && a.RTS == LevelDefault {
		return nil
	}
	return &serial.ModemOutputBits{DTR: a.DTR != LevelOff, RTS: a.RTS != LevelOff}
}
