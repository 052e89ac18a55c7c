package gauge

import (
	"context"
	"errors"
	"log/slog"
	"time"

	"boretight/internal/gauge/frames"
	"boretight/internal/trace"
)

const (
	// firstWait and longestWait bound the time between attempts to open a device.
	// The first is as long as a USB adapter takes to come back after a bump; the
	// last keeps a bench without its gauge idle, yet answers a plug within 1 s.
	firstWait   = 250 * time.Millisecond
	longestWait = time.Second
	// handWait is the last where somebody has to do something at the computer, such as
	// to give a permission. Trying is then dearer (some devices reset) and less urgent.
	handWait = 5 * time.Second
)

// KeepOptions changes what Keep does. The zero value is usable.
type KeepOptions struct {
	// Logger takes one line for each change; nil discards.
	Logger *slog.Logger
	// NeedFirst makes Keep return when the very first opening fails, and whenever a
	// gauge speaks another version of the protocol, for commands whose user has to be
	// told at once.
	NeedFirst bool
}

// Keep runs g again and again until ctx ends (nil), a recording ends (an error that
// is [ErrEnded]), or it fails in a way that waiting does not cure. Between readings
// of two runs it calls sink.Break with the reason, once.
func Keep(ctx context.Context, g Gauge, sink Sink, o KeepOptions) error {
	log := o.Logger
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	log = log.With("gauge", g.Address().Label())
	marked := &markedSink{Sink: sink}
	wait, said, opened := firstWait, "", !o.NeedFirst
	for {
		err := g.Run(ctx, marked)
		if ctx.Err() != nil {
			return nil
		}
		if err == nil {
			err = errEndedWithoutReason
		}
		opened = opened || marked.any
		if final(err, o.NeedFirst) || !opened {
			return err
		}
		if marked.any {
			marked.any = false
			sink.Break(err)
			wait, said = firstWait, ""
		}
		if text := err.Error(); text != said {
			said = text
			log.Warn("gauge lost; it is opened again until it is back", "error", err)
		}
		if !sleep(ctx, wait) {
			return nil
		}
		wait = min(2*wait, longest(err))
	}
}

var errEndedWithoutReason = errors.New("the gauge ended without a reason")

// final reports whether opening the device again is of no use. A port never is: a
// rule for permissions, another adapter or another cable may come at any time, and a
// device that is being plugged in may be forbidden, or no serial port, for a moment.
// Nor is another version of the protocol where nobody waits for an answer: the next
// gauge at the port may speak ours.
func final(err error, asked bool) bool {
	if errors.Is(err, ErrEnded) {
		return true
	}
	if _, wrong := errors.AsType[*frames.VersionError](err); wrong {
		return asked
	}
	if _, port := errors.AsType[*PortError](err); port {
		return false
	}
	// A garbled line may be cured by another cable or rate at the gauge; what is
	// left are files that cannot be read and scenarios that do not exist.
	return !errors.Is(err, ErrUndecodable) && !errors.Is(err, errEndedWithoutReason)
}

// longest returns the longest wait before the device is opened again after err.
func longest(err error) time.Duration {
	if _, wrong := errors.AsType[*frames.VersionError](err); wrong {
		return handWait
	}
	pe, ok := errors.AsType[*PortError](err)
	if ok && (pe.Fault == FaultNotSerial || pe.Fault == FaultSettings) {
		return handWait
	}
	return longestWait
}

// sleep waits and reports whether ctx still runs.
func sleep(ctx context.Context, d time.Duration) bool {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return false
	case <-timer.C:
		return true
	}
}

// markedSink remembers whether readings came since it was last looked at.
type markedSink struct {
	Sink
	any bool
}

// Take implements [Sink].
func (s *markedSink) Take(r []trace.Reading) {
	s.any = true
	s.Sink.Take(r)
}
