package gauge

import (
	"context"
	"errors"
	"io"
	"time"

	"boretight/internal/gauge/frames"
	"boretight/internal/trace"
)

const (
	// nameWithin is how long a port that is ours in all likelihood is listened to for
	// the gauge's own name before any reading counts. One that is asked answers within
	// milliseconds, and one that is not wired to hear us says it every 5 s. One that
	// does neither is believed after that, and checked as soon as it speaks.
	nameWithin = 5500 * time.Millisecond
	// proofWithin is how long a port that may be anybody's is listened to: gauges say
	// who they are every 5 s, and some boards take a second to start.
	proofWithin = 6500 * time.Millisecond
	// resetWithin is how soon after an opening a gauge that begins its clock anew did
	// so because of it.
	resetWithin = 3 * time.Second
	// probeMost bounds what is kept of a port that says no name: 6.5 s at 921,600 Bd.
	probeMost = 640 << 10
)

// heard is what came from a port that was listened to before it counts.
type heard struct {
	bytes  []byte
	serial string // what the gauge calls itself, empty if it did not say
	// restarted says that the gauge's clock began after the port was opened.
	restarted bool
}

// errNoName is returned by probe when enough was heard, and no name in it.
var errNoName = errors.New("no gauge of the frame protocol says who it is there")

// probe listens to an open port until the gauge says who it is. Its error is
// errNoName when that took too long or giveUp told it to end, or what Read said.
func probe(ctx context.Context, dev device, within time.Duration, giveUp func() bool) (heard, error) {
	asker := startAsking(dev)
	defer asker.finish()
	opened := time.Now()
	var decoder frames.Decoder
	var h heard
	n := &namer{}
	chunk := make([]byte, readSize)
	for {
		got, err := guardedRead(dev, chunk)
		h.bytes = append(h.bytes, chunk[:got]...)
		// An error of the decoder is for the listener, who meets it again.
		if decoder.Feed(chunk[:got], n) != nil {
			return h, errNoName
		}
		if micros, any := decoder.Clock(); any && !n.timed {
			n.timed = true
			age := time.Duration(micros) * time.Microsecond
			h.restarted = age < time.Since(opened) && time.Since(opened) < resetWithin
		}
		h.serial = n.serial
		switch {
		case ctx.Err() != nil:
			return h, ctx.Err()
		case err != nil:
			return h, err
		case h.serial != "":
			return h, nil
		case time.Since(opened) >= within, len(h.bytes) > probeMost, giveUp():
			return h, errNoName
		}
	}
}

// namer is a frames.Handler that hears names only.
type namer struct {
	serial string
	timed  bool
}

func (n *namer) Identity(id frames.Identity) { n.serial = id.Serial }
func (n *namer) Reading(trace.Reading)       {}
func (n *namer) Break(error)                 {}

// resumed is a device of which something was read already: that comes first.
type resumed struct {
	device
	bytes []byte
}

// Read implements [io.Reader].
func (r *resumed) Read(p []byte) (int, error) {
	if len(r.bytes) == 0 {
		return r.device.Read(p)
	}
	n := copy(p, r.bytes)
	r.bytes = r.bytes[n:]
	return n, nil
}

var _ io.ReadWriteCloser = (*resumed)(nil)
