package gauge

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"go.bug.st/serial"
)

// Heard says in one word what came from a port that was listened to.
type Heard string

const (
	// HeardGauge: a gauge of the frame protocol that said who it is.
	HeardGauge Heard = "gauge"
	// HeardFrames: a gauge of the frame protocol that did not say who it is.
	HeardFrames Heard = "frames"
	// HeardText: lines with numbers, which may be a gauge's of dialect text.
	HeardText Heard = "text"
	// HeardNoise: bytes that make no sense at any rate that was tried.
	HeardNoise Heard = "noise"
	// HeardNothing: nothing at any rate that was tried.
	HeardNothing Heard = "nothing"
	// HeardBusy: the port is another's, of this program or not, and was left alone.
	HeardBusy Heard = "busy"
	// HeardForbidden: this user may not open the port.
	HeardForbidden Heard = "forbidden"
	// HeardFault: the port does not work, went away, or what speaks cannot be used.
	HeardFault Heard = "fault"
)

// Found is what was found at a port.
type Found struct {
	Port  Port
	Heard Heard
	// Identity is what a gauge said of itself, with HeardGauge.
	Identity Identity
	// Lines are the first few that came, with HeardText.
	Lines []string
	// Address is what to give to --gauge; its Scheme is empty where there is nothing to
	// listen to. What Err says of a text must be added to it.
	Address Address
	// Err says what is in the way and what to do about it; nil when nothing is. With
	// HeardText it is what its numbers leave open, such as their unit.
	Err error
}

// FindOptions holds what a search is given. The zero value is for a program without
// gauges of its own.
type FindOptions struct {
	// Claims is shared with the gauges of the program, whose ports are left alone. A
	// gauge that comes back meanwhile waits for its port for some seconds.
	Claims *Claims
	// Ports lists the serial ports; nil asks the system.
	Ports func() ([]Port, error)
}

const (
	// hearWithin is how long a port is listened to at each rate: boards that reset when
	// they are opened take up to 2 s to speak.
	hearWithin = 2500 * time.Millisecond
	// hearEvery is how often a quiet port is looked at meanwhile.
	hearEvery = 100 * time.Millisecond
)

// hearRates are the rates tried at each port, in baud: those of our own gauges, then the
// one that most devices which print numbers have. Common practice, no source.
var hearRates = [...]int{DefaultBaud, 921600, 9600}

// Find listens at all serial ports of this machine for a gauge, at all at once, and calls
// tell for each port as soon as it knows what is there, from one goroutine at a time. It
// returns when all ports were told of, after about 8 s where nothing is, or when ctx ends;
// ports of which nothing is known then are left out. Its error says that ports could not
// be listed.
//
// Each port is opened as a gauge's is: that resets some devices, as [Gauge] does when it
// opens one. At a port that sends frames or nothing at all, a question mark and a line
// feed are written; nothing to what speaks otherwise. Opening a port may take as long as
// its driver likes, which ctx does not end: that of a wireless one some seconds.
func Find(ctx context.Context, o FindOptions, tell func(Found)) error {
	return newFinder(o).find(ctx, tell)
}

// finder looks for gauges.
type finder struct {
	claims *Claims
	list   func() ([]Port, error)
	// within and named are hearWithin and nameWithin, but for tests.
	within, named time.Duration
}

func newFinder(o FindOptions) *finder {
	f := &finder{claims: o.Claims, list: o.Ports, within: hearWithin, named: nameWithin}
	if f.claims == nil {
		f.claims = NewClaims()
	}
	if f.list == nil {
		f.list = Ports
	}
	return f
}

func (f *finder) find(ctx context.Context, tell func(Found)) error {
	ports, err := f.list()
	var telling sync.Mutex
	var looking sync.WaitGroup
	for _, p := range ports {
		if p.Device == "" || neverAGauge(p.Device) {
			continue
		}
		looking.Go(func() {
			found := f.look(ctx, p)
			if ctx.Err() != nil {
				return
			}
			telling.Lock()
			defer telling.Unlock()
			tell(found)
		})
	}
	looking.Wait()
	return err
}

// neverAGauge leaves out what macOS lists on each machine and no cable leads to; opening
// some of them waits for a telephone.
func neverAGauge(device string) bool {
	for _, name := range []string{"Bluetooth-Incoming-Port", "debug-console", "wlan-debug"} {
		if strings.HasSuffix(device, "cu."+name) {
			return true
		}
	}
	return false
}

// look says what is at a port.
func (f *finder) look(ctx context.Context, p Port) Found {
	a := Address{Scheme: Serial, Target: cmp.Or(p.Stable, p.Device), Baud: DefaultBaud, Dialect: Frames}
	if strings.HasPrefix(p.Note, "in use") { // root would get in all the same
		return notHeard(p, explain(lookAround(a.Target, FaultBusy), opening, a, FaultBusy, errors.New(p.Note)))
	}
	m := &memory{label: "search"}
	name := realPort(p.Device)
	if holder, ok := f.claims.take(name, m); !ok {
		return notHeard(p, &PortError{Address: a, Fault: FaultBusy,
			text: fmt.Sprintf("gauge %s: the port is in use by gauge %s of this program", a, holder)})
	}
	defer f.claims.release(name, m)
	port, err := serial.Open(a.Target, &serial.Mode{BaudRate: a.Baud})
	if err == nil {
		// Once, before the first Read: changing it during a Read is a data race.
		if err = port.SetReadTimeout(hearEvery); err != nil {
			err = errors.Join(err, port.Close())
		}
	}
	if err != nil {
		return notHeard(p, classify(opening, a, err))
	}
	h, err := f.listen(ctx, port)
	if err != nil {
		return notHeard(p, classify(reading, a, err))
	}
	return h.found(p, a)
}

// notHeard is a port that could not be listened to.
func notHeard(p Port, err error) Found {
	what := HeardFault
	switch {
	case isFault(err, FaultBusy):
		what = HeardBusy
	case isFault(err, FaultPermission):
		what = HeardForbidden
	}
	return Found{Port: p, Heard: what, Err: err}
}

// listen hears an open port at one rate after the other, and closes it. A board that
// started late is heard once more at the first.
func (f *finder) listen(ctx context.Context, port serial.Port) (best *ear, err error) {
	closed := make(chan struct{})
	stop := context.AfterFunc(ctx, func() {
		defer close(closed)
		port.Close()
	})
	questions := newQuestions(port)
	defer func() {
		if stop() {
			port.Close()
		} else {
			<-closed
		}
		questions.finish()
	}()
	quiet := false // at the first rate
	for i, baud := range append(hearRates[:], hearRates[0]) {
		again := i == len(hearRates)
		if again && !(quiet && len(best.bytes) > 0) {
			break
		}
		if i > 0 {
			// By the open port: to open it again would reset some boards again.
			if err := errors.Join(port.SetMode(&serial.Mode{BaudRate: baud}), port.ResetInputBuffer()); err != nil {
				return nil, err
			}
		}
		e := newEar(baud)
		if err := f.hear(ctx, port, e, questions); err != nil {
			return nil, err
		}
		quiet = quiet || i == 0 && len(e.bytes) == 0
		if best == nil || e.sense() > best.sense() {
			best = e
		}
		if best.sense() >= makesSense {
			break
		}
	}
	return best, nil
}

// hear listens at one rate.
func (f *finder) hear(ctx context.Context, port serial.Port, e *ear, questions *questions) error {
	began := time.Now()
	within := f.within
	chunk := make([]byte, readSize)
	for {
		n, err := guardedRead(port, chunk)
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err != nil:
			return err
		}
		e.take(chunk[:n])
		if e.readings > 0 {
			within = f.named // it is a gauge: a name is worth waiting for
		}
		since := time.Since(began)
		questions.consider(e, since)
		if e.enough() || since >= within {
			return nil
		}
	}
}

// askAfter is how long a port must be quiet before it is asked.
const askAfter = 500 * time.Millisecond

// questions asks a port who is there, from a goroutine of its own: a write to a device
// that takes nothing may never return.
type questions struct {
	ask, done chan struct{}
	of        *ear // who was asked last
	spoke     bool // when it was
}

func newQuestions(port serial.Port) *questions {
	q := &questions{ask: make(chan struct{}, 1), done: make(chan struct{})}
	go func() {
		defer close(q.done)
		for range q.ask {
			// An error means that the device is gone, which the reader notices.
			if _, err := port.Write([]byte("?\n")); err != nil {
				return
			}
		}
	}()
	return q
}

// consider asks whom it is safe to ask: who sends frames, and who is quiet, and, when
// that one turns out to be a gauge, once more, since it may have been starting.
func (q *questions) consider(e *ear, since time.Duration) {
	spoke := e.readings > 0
	quiet := len(e.bytes) == 0 && since >= askAfter
	if !spoke && !quiet || q.of == e && q.spoke == spoke {
		return
	}
	q.of, q.spoke = e, spoke
	select {
	case q.ask <- struct{}{}:
	default: // the last one has not gone out yet
	}
}

// finish waits for the goroutine's end, after the port was closed.
func (q *questions) finish() {
	close(q.ask)
	select {
	case <-q.done:
	case <-time.After(writeWithin):
	}
}
