package gauge

import (
	"context"
	"io"
	"time"
)

// Timings that tests under a false clock count on.
const (
	ReadTimeout  = readTimeout
	SilentAfter  = silentAfter
	DecodeWithin = decodeWithin
	AskAgain     = askAgain
	FirstWait    = firstWait
	LongestWait  = longestWait
)

// FakeGauge listens to devices of a test's own.
type FakeGauge struct {
	listener
	open func() (io.ReadWriteCloser, error)
}

// NewFake returns a gauge whose device comes from open.
func NewFake(open func() (io.ReadWriteCloser, error), o Options) *FakeGauge {
	return &FakeGauge{newListener(Address{Scheme: Serial, Target: "fake"}, o), open}
}

// Run implements [Gauge].
func (g *FakeGauge) Run(ctx context.Context, sink Sink) error {
	return g.run(ctx, sink, func(context.Context) (device, error) { return g.open() },
		func(err error) error { return classify(reading, g.address, err) })
}

// Scene is what can be seen around a port.
type Scene struct {
	System, Holder, Group, Portless string
	Young, Shut, WSL                bool
}

// Explain explains a fault of opening a port on a system of the test's own.
func Explain(s Scene, a Address, f Fault, err error) error {
	return explain(scene{
		system: s.System, holder: s.Holder, group: s.Group, portless: s.Portless,
		young: s.Young, shut: s.Shut, wsl: s.WSL,
	}, opening, a, f, err)
}

// FaultOnOpening classifies what a system said when a port was opened.
func FaultOnOpening(system string, err error) Fault { return faultOf(system, opening, err) }

// FaultOnReading classifies what a system said when a port was read.
func FaultOnReading(system string, err error) Fault { return faultOf(system, reading, err) }

// ClockWatch is for arrivals of a test's own.
type ClockWatch struct{ watch clockWatch }

// NewClockWatch returns one that watches.
func NewClockWatch() *ClockWatch { return &ClockWatch{clockWatch{watched: true}} }

// Arrived takes the last of n readings' time on the gauge's clock and when they came.
func (w *ClockWatch) Arrived(gauge, host time.Duration, n uint64) {
	w.watch.heard(gauge, time.Unix(1_000_000, 0).Add(host), n)
}

// Restart begins anew.
func (w *ClockWatch) Restart() { w.watch.restart() }

// Clock returns what is known.
func (w *ClockWatch) Clock() Clock { return w.watch.clock() }

// SerialPorts lists ports as a gauge that is looked for does.
func SerialPorts() ([]Port, error) { return new(lister).ports() }

// AdoptAfter makes a serial gauge take another in its place sooner; before Run.
func AdoptAfter(g Gauge, d time.Duration) { g.(*serialGauge).adoptAfter = d }

// NamelessFor is how long a refusal without a name stands.
const NamelessFor = namelessFor

// Refusals are the ports that one gauge holds for another's.
type Refusals struct{ memory memory }

// Refuse notes that a gauge of the given serial number, or none, answered at a port.
func (r *Refusals) Refuse(port, serial string) { r.memory.refuse(port, serial, time.Now()) }

// Stands reports whether that still counts.
func (r *Refusals) Stands(port string) bool {
	_, ok := r.memory.standing(port)
	return ok
}

// WithNames adds ports of which only the name is known.
func WithNames(ports []Port, names []string) []Port { return withNames(ports, names) }

// IsListed reports whether a port is there, as far as a list tells.
func IsListed(list func() ([]Port, error), port string) bool { return isListed(list, port) }

// QuietPort returns an open port that says nothing, which existed when it was opened if
// seen, and exists as told.
func QuietPort(d io.ReadWriteCloser, seen bool, exists func() bool) io.ReadWriteCloser {
	return &portOf{device: d, port: "quiet", seen: seen, release: func() {}, exists: func(string) bool { return exists() }}
}

// NameWithin is how long a port is listened to for a name.
const NameWithin = nameWithin

// BelieveAfter makes a serial gauge believe a port that says no name sooner; before Run.
func BelieveAfter(g Gauge, d time.Duration) { g.(*serialGauge).nameWithin = d }

// FindFaster is Find for tests whose gauges answer at once: ports are listened to that
// long at each rate, and that long for a gauge's name.
func FindFaster(ctx context.Context, o FindOptions, within, named time.Duration, tell func(Found)) error {
	f := newFinder(o)
	f.within, f.named = within, named
	return f.find(ctx, tell)
}
