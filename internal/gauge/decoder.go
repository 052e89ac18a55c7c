package gauge

import (
	"errors"
	"log/slog"
	"math"
	"time"

	"boretight/internal/gauge/cadence"
	"boretight/internal/gauge/frames"
	"boretight/internal/gauge/text"
	"boretight/internal/quantity"
	"boretight/internal/trace"
)

// decoder turns a gauge's bytes into readings, whatever its dialect.
type decoder interface {
	// Feed decodes what a read brought, at once after it; an empty chunk says that the
	// read brought nothing.
	Feed(chunk []byte, h frames.Handler) error
	Counts() frames.Counts
	// Resume makes the first reading's T the given one.
	Resume(t time.Duration)
	// Presumed is what is known of a gauge that has not said who it is.
	Presumed() Identity
	// Undecodable says what is wrong when bytes come but no readings; it is
	// [ErrUndecodable].
	Undecodable() error
	// Hopeless reports whether all that came last is wrong in one way, so that more of
	// it need not be waited for.
	Hopeless() bool
}

// newDecoder returns a decoder for the gauge at an address, of which that is known.
func newDecoder(a Address, known Identity, log *slog.Logger) decoder {
	if a.Dialect == Text {
		return newTextDecoder(a, log, newCounter())
	}
	d := &frameDecoder{kind: known.Kind}
	d.Presume(known.Kind)
	return d
}

// frameDecoder reads dialect frames.
type frameDecoder struct {
	frames.Decoder
	kind trace.Kind // until the gauge says its own: what it said before, or gauge pressure
}

// Presumed implements [decoder].
func (d *frameDecoder) Presumed() Identity { return Identity{Kind: d.kind} }

// Undecodable implements [decoder].
func (d *frameDecoder) Undecodable() error {
	switch counts := d.Counts(); {
	case counts.Standing > 0:
		return &undecodableError{errClockStands}
	case counts.Undecoded == 0:
		return &undecodableError{errNoReadings}
	}
	return ErrUndecodable
}

// Hopeless implements [decoder].
func (d *frameDecoder) Hopeless() bool { return false }

var (
	errClockStands = errors.New("the gauge's clock stands still: t_us must count microseconds")
	errNoReadings  = errors.New("the gauge speaks, but gives no readings: restart it, or look at its display")
)

// textDecoder reads dialect text: the numbers with package text, their times from when
// they arrived, with package cadence.
type textDecoder struct {
	kind   trace.Kind
	lines  *text.Decoder
	grid   cadence.Grid
	now    func() time.Duration // on the host's finest monotonic clock
	log    *slog.Logger
	uneven bool // that was logged

	counts frames.Counts
	why    error // of the last line, if it was damaged
	same   int   // lines in a row that were damaged for that reason
	begun  bool
	resume time.Duration
	offset time.Duration // from the host's clock to T

	// Of the present read, or reads that follow at once; reused.
	at    time.Duration // when the last of them returned
	waits bool          // it was a long one, so more may follow at once
	found []found
	times []time.Duration
}

const (
	// longRead is the length of a read behind which more waits at the port: what has
	// piled up during a stall comes in several. Some systems fill no buffer quite.
	longRead = readSize / 2
	// atOnce is how soon the next read returns then.
	atOnce = time.Millisecond
)

// errStalled is the reason of a break where times are not to be trusted.
var errStalled = errors.New("the computer did not take the gauge's lines in time, and when they were made is not known")

// found is what a line gave.
type found struct {
	text.Sample
	damaged bool
}

func newTextDecoder(a Address, log *slog.Logger, now func() time.Duration) *textDecoder {
	return &textDecoder{kind: a.Kind, lines: text.NewDecoder(a.textOptions()), now: now, log: log}
}

// textOptions returns how the lines of an address are read; its unit was checked.
func (a Address) textOptions() text.Options {
	o := text.Options{Field: a.Field, Negate: a.Negate, DecimalComma: a.DecimalComma, Kind: a.Kind}
	if u, err := quantity.ParseUnit[quantity.Pressure](a.Unit); err == nil {
		o.Unit = &u
	}
	return o
}

// Feed implements [decoder].
func (d *textDecoder) Feed(chunk []byte, h frames.Handler) error {
	at := d.now()
	if d.waits && at-d.at > atOnce {
		d.deliver(h)
	}
	d.waits = len(chunk) >= longRead
	d.counts.Undecoded += uint64(len(chunk))
	d.lines.Feed(chunk, d)
	if len(chunk) > 0 {
		d.at = at
	}
	if !d.waits {
		d.deliver(h)
	}
	return nil
}

// deliver gives the lines found their times and hands them on.
func (d *textDecoder) deliver(h frames.Handler) {
	// A damaged line took its place on the wire.
	d.times = d.grid.Take(d.at, len(d.found), d.times[:0])
	if d.grid.Doubtful() {
		h.Break(errStalled)
	}
	for i, f := range d.found {
		// Before the first read, lines waited for nobody knows how long.
		if f.damaged || !d.begun && i < len(d.found)-1 {
			continue
		}
		if !d.begun {
			d.begun, d.offset = true, d.resume-d.times[i]
		}
		d.counts.Readings++
		h.Reading(trace.Reading{T: d.times[i] + d.offset, Pressure: f.Pressure, Celsius: math.NaN(), Status: f.Status})
	}
	d.found = d.found[:0]
	d.counts.Lost = d.grid.Lost()
	if !d.uneven && !d.grid.Even() {
		d.uneven = true // once for each opening: a grid may seem to hold for a while
		d.log.Warn("the gauge keeps no even rate; its readings are timed by their arrival")
	}
}

// Sample implements [text.Handler].
func (d *textDecoder) Sample(s text.Sample) {
	d.counts.Undecoded = 0
	d.why, d.same = nil, 0
	d.found = append(d.found, found{Sample: s})
}

// Damaged implements [text.Handler].
func (d *textDecoder) Damaged(reason error) {
	d.counts.Damaged++
	if reason != d.why {
		d.why, d.same = reason, 0
	}
	d.same++
	d.found = append(d.found, found{damaged: true})
}

// Counts implements [decoder].
func (d *textDecoder) Counts() frames.Counts { return d.counts }

// Resume implements [decoder].
func (d *textDecoder) Resume(t time.Duration) { d.resume = t }

// Presumed implements [decoder]: the address says what the gauge cannot.
func (d *textDecoder) Presumed() Identity { return Identity{Kind: d.kind, Told: true} }

// Undecodable implements [decoder].
func (d *textDecoder) Undecodable() error {
	if d.why == nil {
		return &undecodableError{text.ErrTooLong}
	}
	return &undecodableError{d.why}
}

// Hopeless implements [decoder].
func (d *textDecoder) Hopeless() bool { return d.same >= sameLines }

// sameLines in a row that are wrong for one reason are no accident: so that a slow gauge
// too is told what is wrong with its lines.
const sameLines = 3

// undecodableError is an [ErrUndecodable] that says why.
type undecodableError struct{ why error }

// Error says why.
func (e *undecodableError) Error() string { return e.why.Error() }

// Unwrap makes it an ErrUndecodable and the reason.
func (e *undecodableError) Unwrap() []error { return []error{ErrUndecodable, e.why} }

// errNotBuilt is returned when an address names a dialect without a decoder.
var errNotBuilt = errors.New("this program reads dialects frames and text")
