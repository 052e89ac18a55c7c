package gauge

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"boretight/internal/gauge/sim"
	"boretight/internal/trace"
)

// ErrEnded is returned when a gauge has said all it ever will: the end of a
// recording. Opening it again would begin from the start.
var ErrEnded = errors.New("the recording has ended")

// Identity is what a gauge says of itself.
type Identity struct {
	// Version of the frame protocol, 0 where the gauge speaks none.
	Version int
	// Serial is the gauge's serial number, empty where it gives none.
	Serial string
	// Kind says what the pressures are measured against.
	Kind trace.Kind
	// MinPa and MaxPa are the sensor's range in pascals, both 0 where unknown.
	MinPa, MaxPa float64
	// ResolutionPa is the step of its figures in pascals, 0 where unknown.
	ResolutionPa float64
	// RateHz is the number of readings a second, 0 where unknown.
	RateHz float64
	// Known is false while readings come from a gauge that has not said who it is;
	// their kind is then an assumption, unless it was Told.
	Known bool
	// Told is true when the gauge's dialect has no words for who it is and the address
	// says instead what its numbers mean; such a gauge has no clock either.
	Told bool
}

// Sink takes what a gauge says, in order, from one goroutine.
type Sink interface {
	// Identify is called when the gauge says who it is, and again if that changes.
	// It is called with an Identity that is not Known before the first readings of
	// a gauge that has not yet said it.
	Identify(Identity)
	// Take is called with readings in order of time: T rises with each, across a Break
	// too. The slice is reused after return.
	Take([]trace.Reading)
	// Break is called when readings before and after do not belong together: the
	// gauge restarted its clock, or was lost and is back.
	Break(reason error)
}

// Gauge is a stream of readings from a device. Run may be called again after it
// has returned, which opens the device again; two Runs must not overlap.
type Gauge interface {
	// Run delivers to sink until ctx ends (nil error) or the device is gone or
	// unusable (an error that names the address and says what to do).
	Run(ctx context.Context, sink Sink) error
	// Stats may be called at any time from any goroutine.
	Stats() Stats
	// Address is where the gauge is.
	Address() Address
}

// Options holds what gauges are given beside their address. The zero value is usable.
type Options struct {
	// Logger takes one line for each event an operator would act on; nil discards.
	Logger *slog.Logger
	// Seed starts the random numbers of a simulated gauge whose address gives none.
	Seed uint64
	// Repairs tells simulated gauges what is done to their joint; nil tells nothing.
	Repairs *sim.Repairs
	// Claims is shared by the gauges of one program, so that none takes another's
	// port; nil is for a gauge alone.
	Claims *Claims
	// Ports lists the serial ports when one that was lost is looked for; nil asks the
	// system.
	Ports func() ([]Port, error)
}

func (o Options) logger(a Address) *slog.Logger {
	if o.Logger == nil {
		return slog.New(slog.DiscardHandler)
	}
	return o.Logger.With("gauge", a.Label())
}

// Open returns the gauge at an address. It starts nothing and touches no device:
// that is for Run.
func Open(a Address, o Options) (Gauge, error) {
	switch a.Scheme {
	case Serial, TCP:
		if a.Dialect != Frames && a.Dialect != Text {
			return nil, fmt.Errorf("gauge %s: dialect %s is not built yet: %w", a, a.Dialect, errNotBuilt)
		}
	}
	switch a.Scheme {
	case Serial:
		return newSerial(a, o), nil
	case TCP:
		return newTCP(a, o), nil
	case Sim:
		return newSim(a, o)
	case Replay:
		return newReplay(a, o), nil
	}
	return nil, fmt.Errorf("gauge %s: unknown kind of address %q; %s", a, a.Scheme, schemesHint)
}

// Phase says in one word how a gauge is doing.
type Phase string

const (
	// PhaseClosed: Run is not running.
	PhaseClosed Phase = "closed"
	// PhaseOpening: the device is being opened.
	PhaseOpening Phase = "opening"
	// PhaseWaiting: the device is open and has not yet given a reading.
	PhaseWaiting Phase = "waiting"
	// PhaseReading: readings are coming.
	PhaseReading Phase = "reading"
	// PhaseSilent: the device is open, but nothing came for a while.
	PhaseSilent Phase = "silent"
	// PhaseUndecodable: bytes are coming, but no readings.
	PhaseUndecodable Phase = "undecodable"
	// PhaseLost: the device went away or could not be opened; see Trouble.
	PhaseLost Phase = "lost"
	// PhaseEnded: a recording has come to its end.
	PhaseEnded Phase = "ended"
)

// Stats says how a gauge has fared since it was made; counters only grow.
type Stats struct {
	// Up reports whether readings are coming.
	Up bool
	// Phase is the same in more detail.
	Phase Phase
	// Trouble says what is wrong and what to do about it; empty when nothing is. It
	// may be there while readings come: a clock that is off, a port found again.
	Trouble string
	// Port is the serial port that is open or was last, as the system names it.
	Port string
	// Clock is how the gauge's clock runs against this computer's.
	Clock Clock
	// Identity is what the gauge said of itself last.
	Identity Identity
	// Readings were delivered; Lost are missing between them; Damaged lines held
	// no usable frame; Reconnects counts openings after the first.
	Readings, Lost, Damaged, Reconnects uint64
	// Silent is the time since the last byte, or since the opening if none came;
	// 0 while the device is not open.
	Silent time.Duration
}
