package gauge

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"time"

	"boretight/internal/gauge/frames"
	"boretight/internal/trace"
)

// readSize is the size of a read: some tens of frames, more than come in one read
// at any rate a serial port carries.
const readSize = 4096

const (
	// A gauge is fast if its readings come closer together than fastStep. It is read
	// every lumpTime only: a wake-up and a read for each of a thousand readings a second
	// cost many times what the readings themselves do. So long its port keeps them, and
	// they bring the time of their making with them.
	fastStep = 5 * time.Millisecond
	lumpTime = 10 * time.Millisecond
)

const (
	// decodeWithin is how long bytes may come after opening before a first sound
	// frame must have come. Boards that reset on opening take up to 3 s.
	decodeWithin = 5 * time.Second
	// manyDamaged lines or manyBytes without a sound frame are no accident.
	manyDamaged = 20
	manyBytes   = 2048
	// plainAfter is how long a board may print what it likes as it starts.
	plainAfter = time.Second
)

// ErrUndecodable is returned when bytes come but no readings. The
// error that wraps it may say more.
var ErrUndecodable = errors.New("only undecodable bytes: wrong baud rate or another dialect?")

// errLeft is the cause of a read's end that we brought about ourselves.
var errLeft = errors.New("closed by ourselves")

// device is an open gauge. Read returns 0 and no error when nothing came for a
// while. Close ends a Read that is waiting.
type device = io.ReadWriteCloser

// listener reads frames from devices for one gauge, one device after another.
type listener struct {
	meter
	address Address
	log     *slog.Logger
	known   Identity // what the gauge said last, whenever that was
	lumped  bool     // what is not read at once waits for the next read, and loses nothing by it
}

func newListener(a Address, o Options) listener {
	// Only a gauge with a clock of its own has one to compare; a simulation that was told a
	// speed is known to be off.
	own := a.Dialect == Frames || a.Scheme == Sim && a.Speed == 0
	return listener{
		address: a, log: o.logger(a), meter: meter{clock: clockWatch{watched: own}},
		// A gauge without a clock is timed by when its lines come.
		lumped: a.Dialect != Text && (a.Scheme == Serial || a.Scheme == TCP),
	}
}

// Address returns where the gauge is.
func (l *listener) Address() Address { return l.address }

// run opens the device, listens until ctx ends or the device fails, and closes it.
func (l *listener) run(ctx context.Context, sink Sink, open func(context.Context) (device, error), classify func(error) error) error {
	l.meter.opening()
	dev, err := open(ctx)
	if err != nil {
		if ctx.Err() != nil {
			l.meter.closed(PhaseClosed, nil)
			return nil
		}
		l.meter.closed(PhaseLost, err)
		return err
	}
	l.meter.isOpen()
	err = l.listen(ctx, dev, sink, classify)
	switch {
	case ctx.Err() != nil:
		err = nil
		l.meter.closed(PhaseClosed, nil)
	case errors.Is(err, ErrEnded):
		l.meter.closed(PhaseEnded, nil)
	case errors.Is(err, ErrUndecodable):
		l.meter.closed(PhaseUndecodable, err)
	default:
		l.meter.closed(PhaseLost, err)
	}
	return err
}

// listen reads dev until it fails or ctx ends, and closes it.
func (l *listener) listen(ctx context.Context, dev device, sink Sink, classify func(error) error) error {
	// Closing is what ends a Read that is waiting. It happens once, here or there.
	closed := make(chan struct{})
	stop := context.AfterFunc(ctx, func() {
		defer close(closed)
		dev.Close()
	})
	asker := l.ask(dev)
	defer func() {
		if stop() {
			dev.Close()
		} else {
			<-closed
		}
		if !asker.finish() {
			l.log.Warn("a write to the gauge does not return")
		}
	}()

	s := stream{listener: l, sink: sink, asker: asker, opened: time.Now(), decoder: newDecoder(l.address, l.known, l.log)}
	chunk := make([]byte, readSize)
	for {
		n, err := guardedRead(dev, chunk)
		if err := s.take(chunk[:n]); err != nil {
			return fmt.Errorf("gauge %s: %w", l.address, err)
		}
		switch {
		case ctx.Err() != nil:
			return errLeft
		case err != nil:
			return classify(err)
		}
		s.watch()
		if s.fast && n < readSize/2 {
			sleep(ctx, lumpTime)
		}
	}
}

// ask asks a gauge who it is, if it speaks a dialect that has words for that.
func (l *listener) ask(dev device) *asker {
	if l.address.Dialect == Text {
		return silentAsker()
	}
	return startAsking(dev)
}

// guardedRead reads once. The serial library panics when the port's descriptor is
// beyond what select(2) can hold, which takes a process with some thousand open
// connections; that is a fault to report, not one to die of.
func guardedRead(dev device, chunk []byte) (n int, err error) {
	defer func() {
		if fault := recover(); fault != nil {
			n, err = 0, fmt.Errorf("%w (%v)", errUnreadable, fault)
		}
	}()
	return dev.Read(chunk)
}

var errUnreadable = errors.New("the port cannot be read because too many files and connections are open; close some and start again")

// stream is one stretch of listening, from opening to closing.
type stream struct {
	*listener
	sink    Sink
	asker   *asker
	decoder decoder
	id      Identity
	told    bool // the sink was told an Identity in this stretch
	batch   []trace.Reading
	lastT   time.Duration
	fast    bool // readings may be left to come together for a while
	opened  time.Time
	silent  bool // silence was logged
	garbled bool // undecodable bytes were logged
	useless bool // no readings have come for long, though bytes have
	broken  bool // the sink was told that the readings have ended
}

// take decodes a chunk, which may be empty, and hands on what it holds.
func (s *stream) take(chunk []byte) error {
	if s.silent && len(chunk) > 0 {
		s.silent = false
		s.log.Info("the gauge speaks again")
	}
	if s.decoder.Counts().Readings == 0 {
		s.decoder.Resume(s.resume())
	}
	err := s.decoder.Feed(chunk, s)
	s.flush()
	counts := s.decoder.Counts()
	s.heard(len(chunk), counts, s.id, s.lastT)
	if err != nil || len(chunk) == 0 {
		return err
	}
	if counts.Undecoded == 0 {
		s.garbled = false
	}
	return s.judge(counts)
}

// judge finds a stream that consists of bytes only.
func (s *stream) judge(counts frames.Counts) error {
	nothing := counts.Readings == 0 && counts.Skipped == 0 && !s.id.Known
	open := time.Since(s.opened)
	garbage := counts.Undecoded >= manyBytes || nothing && counts.Damaged >= manyDamaged
	if !garbage && !(nothing && s.decoder.Hopeless() && open >= plainAfter) {
		return nil
	}
	why := s.decoder.Undecodable()
	s.trouble(PhaseUndecodable, why)
	if !s.garbled {
		s.garbled = true
		s.log.Warn(why.Error(), "damaged_lines", counts.Damaged, "bytes", counts.Undecoded)
	}
	// Some lines that are wrong in one way are worth saying, but may be a greeting, which
	// opening the port again would only bring again.
	if garbage && nothing && open >= decodeWithin {
		return why
	}
	return nil
}

// watch acts once on silence, and on bytes that are no readings any more; Stats finds
// silence by itself. A gauge that says nothing has gone away, though its port is still
// there, and one whose lines changed, as at the press of a button, has too: what was
// going on has ended.
func (s *stream) watch() {
	bytes, readings := s.silentFor()
	switch {
	case bytes >= silentAfter && !s.silent:
		s.silent = true
		s.log.Warn(silenceHint)
		s.interrupt(errSilent)
	case bytes < silentAfter && readings >= silentAfter && !s.useless && s.decoder.Counts().Readings > 0:
		s.useless = true
		why := s.decoder.Undecodable()
		s.trouble(PhaseUndecodable, why)
		if !s.garbled {
			s.garbled = true
			s.log.Warn(why.Error())
		}
		s.interrupt(why)
	}
}

// interrupt tells the sink once that the readings so far have ended.
func (s *stream) interrupt(reason error) {
	if s.told && !s.broken {
		s.broken = true
		s.sink.Break(reason)
	}
}

var errSilent = errors.New(silenceHint)

// Identity implements [frames.Handler].
func (s *stream) Identity(id frames.Identity) {
	s.flush()
	s.id = identified(id)
	s.told, s.known = true, s.id
	s.asker.answered()
	s.log.Info("gauge identified", "serial", id.Serial, "kind", id.Kind.String(), "min_pa", id.MinPa, "max_pa", id.MaxPa, "rate_hz", id.RateHz)
	s.sink.Identify(s.id)
}

// identified is what a gauge said of itself.
func identified(id frames.Identity) Identity {
	return Identity{
		Version: id.Version, Serial: id.Serial, Kind: id.Kind,
		MinPa: id.MinPa, MaxPa: id.MaxPa, ResolutionPa: id.ResolutionPa, RateHz: id.RateHz,
		Known: true,
	}
}

// Reading implements [frames.Handler].
func (s *stream) Reading(r trace.Reading) { s.batch = append(s.batch, r) }

// Break implements [frames.Handler].
func (s *stream) Break(reason error) {
	s.flush()
	s.log.Warn("break in the readings", "reason", reason)
	s.sink.Break(reason) // while it is still known how the clock ran until now
	s.restarted()
}

// flush hands the readings collected so far to the sink.
func (s *stream) flush() {
	if len(s.batch) == 0 {
		return
	}
	if !s.told {
		s.told = true
		s.id = s.decoder.Presumed()
		s.log.Info("the gauge has not said who it is; its readings are taken as pressures of this kind", "kind", s.id.Kind.String())
		s.sink.Identify(s.id)
	}
	s.useless, s.broken = false, false
	for _, r := range s.batch {
		step := r.T - s.lastT // none at the very first, whose T is 0
		s.fast = s.lumped && step > 0 && step < fastStep
		s.lastT = r.T
	}
	s.sink.Take(s.batch)
	s.batch = s.batch[:0]
}
