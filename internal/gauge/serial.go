package gauge

import (
	"context"
	"errors"
	"fmt"
	"time"

	"go.bug.st/serial"

	"boretight/internal/trace"
)

// readTimeout is how often a quiet port is looked at; it bounds how long Run takes
// to notice what Read does not tell.
const readTimeout = 250 * time.Millisecond

// serialGauge is a gauge on a serial port. It knows its device again under another
// name of the port, and another device under the same name; see seek.go.
type serialGauge struct {
	listener
	claims *Claims
	list   func() ([]Port, error)
	memory memory
	around surroundings
	// These are the constants of their names, but for tests.
	adoptAfter, nameWithin time.Duration
}

func newSerial(a Address, o Options) *serialGauge {
	g := &serialGauge{
		listener: newListener(a, o), claims: o.Claims, list: o.Ports, memory: memory{label: a.Label()},
		adoptAfter: adoptAfter, nameWithin: nameWithin,
	}
	if g.claims == nil {
		g.claims = NewClaims()
	}
	if g.list == nil {
		g.list = new(lister).ports
	}
	return g
}

// Run implements [Gauge].
func (g *serialGauge) Run(ctx context.Context, sink Sink) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	v := &voucher{Sink: sink, gauge: g, leave: cancel}
	err := g.run(ctx, v, g.open, func(err error) error { return classify(reading, g.address, err) })
	if v.stranger != nil {
		g.trouble(PhaseLost, v.stranger)
		return v.stranger
	}
	return err
}

// openPort opens a port by its name, 8N1.
func (g *serialGauge) openPort(name string) (serial.Port, error) {
	mode := &serial.Mode{BaudRate: g.address.Baud, InitialStatusBits: modemBits(g.address)}
	port, err := serial.Open(name, mode)
	if err != nil {
		if mode.InitialStatusBits != nil && isCode(err, serial.InvalidSerialPort) {
			err = fmt.Errorf("%w (or one without modem lines: leave out dtr and rts)", err)
		}
		return nil, g.around.classify(opening, g.at(name), err)
	}
	// Once, before the first Read: changing it during a Read is a data race.
	if err := port.SetReadTimeout(readTimeout); err != nil {
		return nil, errors.Join(g.around.classify(opening, g.at(name), err), port.Close())
	}
	return port, nil
}

// at returns the gauge's address with another port, for errors that concern that one.
func (g *serialGauge) at(port string) Address {
	a := g.address
	a.Target = port
	return a
}

// modemBits returns nil unless the address asks for a level: many adapters, and
// every pseudo-terminal, refuse to be asked.
func modemBits(a Address) *serial.ModemOutputBits {
	if a.DTR == LevelDefault && a.RTS == LevelDefault {
		return nil
	}
	return &serial.ModemOutputBits{DTR: a.DTR != LevelOff, RTS: a.RTS != LevelOff}
}

// voucher passes on what the gauge says as long as it is the one known.
type voucher struct {
	Sink
	gauge    *serialGauge
	leave    func()
	stranger error // why nothing is passed on any more
}

// Identify implements [Sink].
func (v *voucher) Identify(id Identity) {
	m := &v.gauge.memory
	switch {
	case v.stranger != nil:
		return
	case !id.Known:
	case m.serial == "" || m.serial == id.Serial:
		m.serial = id.Serial
		v.gauge.claims.want(id.Serial, m)
		v.gauge.claims.meet(id.Serial, m.port)
	default:
		v.stranger = v.gauge.refuse(m.port, id.Serial)
		v.leave()
		return
	}
	v.Sink.Identify(id)
}

// Take implements [Sink].
func (v *voucher) Take(r []trace.Reading) {
	if v.stranger == nil {
		v.Sink.Take(r)
	}
}

// Break implements [Sink].
func (v *voucher) Break(reason error) {
	if v.stranger == nil {
		v.Sink.Break(reason)
	}
}
