package sim

import (
	"fmt"
	"io"
	"io/fs"
	"sync"
	"time"
)

// Device is a simulated gauge on a line: bytes of the frame protocol in real
// time, or that of its script, endlessly, hold after hold. It starts no goroutine; lines are made as
// they are read.
//
// Read may be called by one goroutine while others Write and Close. Close
// unblocks a waiting Read, which then returns [fs.ErrClosed].
type Device struct {
	name  string
	speed float64 // gauge time by real time

	reading sync.Mutex // guards what follows, held while Read waits
	stream  *stream    // nil for a silent device
	opened  time.Time
	pending []byte

	writing sync.Mutex // guards line
	line    []byte     // what was written since the last line end

	asked  chan struct{} // a BTID was asked for
	closed chan struct{}
	close  func()
}

var _ io.ReadWriteCloser = (*Device)(nil)

// latest is how far a reader may fall behind before the gauge waits for it: a
// computer that slept finds the gauge where it left it.
const latest = 4 * time.Second

// Open switches on the device of the given name; see [Names]. The same seed plays
// the same holds.
func Open(name string, seed uint64) (*Device, error) {
	return OpenWith(name, Play{Seed: seed, Speed: 1})
}

// Play is how a device plays.
type Play struct {
	Seed    uint64
	Speed   float64  // gauge time by real time
	Repairs *Repairs // what is done to its joint meanwhile; nil: nothing is told
}

// OpenWith switches on the device of the given name, to play as told.
func OpenWith(name string, play Play) (*Device, error) {
	p, err := programNamed(name)
	if err != nil {
		return nil, err
	}
	if p.silent {
		return newDevice(name, play.Speed, nil), nil
	}
	s := newStream(p.identity(), play.Seed)
	s.damage = p.damage
	var (
		stage float64       // of the present scene
		rest  time.Duration // at its beginning
	)
	s.scene = func(loop int, _ *reader) (*reader, error) {
		hold := p.scenario(play.Seed, loop, play.Repairs)
		stage, rest = p.stage(loop, play.Repairs), time.Duration(hold.Holds[0].Rest*float64(time.Second))
		return hold.on(hold.Sensor, 0, nil)
	}
	// What is done to the joint before the draw is of this hold; at rest no leak shows.
	s.stale = func(loop int, after time.Duration) bool {
		return after < rest && stage != p.stage(loop, play.Repairs)
	}
	return newDevice(name, play.Speed, s), nil
}

func newDevice(name string, speed float64, s *stream) *Device {
	d := &Device{
		name: name, speed: speed, stream: s, opened: time.Now(),
		asked: make(chan struct{}, 1), closed: make(chan struct{}),
	}
	d.close = sync.OnceFunc(func() { close(d.closed) })
	return d
}

// Read waits until bytes are due and returns them, whole lines as far as the
// buffer allows.
func (d *Device) Read(buf []byte) (int, error) {
	d.reading.Lock()
	defer d.reading.Unlock()
	if len(buf) == 0 {
		return 0, nil
	}
	for len(d.pending) == 0 {
		if err := d.await(); err != nil {
			return 0, fmt.Errorf("read simulated gauge %q: %w", d.name, err)
		}
	}
	select {
	case <-d.closed:
		return 0, fmt.Errorf("read simulated gauge %q: %w", d.name, fs.ErrClosed)
	default:
	}
	n := copy(buf, d.pending)
	d.pending = d.pending[n:]
	return n, nil
}

// await waits for the next thing to happen and puts its bytes into pending.
func (d *Device) await() error {
	if d.stream == nil {
		<-d.closed
		return fs.ErrClosed
	}
	due, err := d.stream.due()
	if err != nil {
		return err
	}
	wait := time.Duration(float64(due)/d.speed) - time.Since(d.opened)
	if wait < -latest {
		d.opened = d.opened.Add(-wait)
	}
	timer := time.NewTimer(wait)
	defer timer.Stop()
	select {
	case <-d.closed:
		return fs.ErrClosed
	case <-d.asked:
		d.pending = identityFrame(d.pending[:0], d.stream.identity)
	case <-timer.C:
		d.pending = d.stream.next(d.pending[:0])
	}
	return nil
}

// Write takes commands: the line `?` asks for a BTID frame, all else is ignored,
// as a gauge does.
func (d *Device) Write(data []byte) (int, error) {
	d.writing.Lock()
	defer d.writing.Unlock()
	select {
	case <-d.closed:
		return 0, fmt.Errorf("write to simulated gauge %q: %w", d.name, fs.ErrClosed)
	default:
	}
	for _, b := range data {
		switch {
		case b != '\n':
			// Only the two bytes of a command matter; one more shows that it is none.
			if len(d.line) < 3 {
				d.line = append(d.line, b)
			}
			continue
		case string(d.line) == "?" || string(d.line) == "?\r":
			select {
			case d.asked <- struct{}{}:
			default: // one answer serves both
			}
		}
		d.line = d.line[:0]
	}
	return len(data), nil
}

// Close switches the device off and unblocks a waiting Read. It never fails.
func (d *Device) Close() error {
	d.close()
	return nil
}
