package gauge

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"time"
)

// open opens the port that the address names or, if the gauge was there before and
// is not there now, the port at which it is found again.
func (g *serialGauge) open(ctx context.Context) (device, error) {
	m := &g.memory
	named, linked := realPort(g.address.Target), isLink(g.address.Target)
	var ports []Port
	// A link is followed to wherever it leads now: that is what it is for. And before
	// anything was opened there is nothing to know again.
	if m.port != "" && !linked {
		ports = g.ports()
	}
	m.forgive(g.exists)
	candidates := m.candidates(named, ports, g.claims.lastMet(m.serial))
	// What was refused may only be another gauge in place of ours: last of all.
	slices.SortStableFunc(candidates, func(a, b candidate) int {
		return cmp.Compare(g.wasRefused(a.port), g.wasRefused(b.port))
	})
	var failure error
	for _, c := range candidates {
		dev, err := g.try(ctx, c, named)
		if err == nil {
			return dev, nil
		}
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if failure == nil || isFault(failure, FaultAbsent) {
			failure = err
		}
	}
	return nil, failure
}

func (g *serialGauge) wasRefused(port string) int {
	if _, refused := g.memory.standing(port); refused {
		return 1
	}
	return 0
}

// try opens one port and makes sure, as far as it can, that the gauge there is ours.
func (g *serialGauge) try(ctx context.Context, c candidate, named string) (device, error) {
	m := &g.memory
	name := c.port
	if c.port == named {
		name = g.address.Target // by the name that was given, for errors and the system
	}
	if r, refused := m.standing(c.port); refused && (c.port != named || time.Since(r.last) < g.adoptAfter) {
		return nil, g.strangerAt(c.port, r.serial)
	}
	if holder, ok := g.claims.take(c.port, m); !ok {
		return nil, &PortError{Address: g.at(name), Fault: FaultBusy,
			text: fmt.Sprintf("gauge %s: the port is in use by gauge %s of this program; give each gauge a port of its own", g.at(name), holder)}
	}
	port, err := g.openPort(name)
	if err != nil {
		g.claims.release(c.port, m)
		return nil, err
	}
	dev := &portOf{device: port, port: c.port, exists: g.exists, release: func() { g.claims.release(c.port, m) }}
	dev.seen = dev.exists(c.port)
	if m.serial == "" || g.address.Dialect != Frames {
		g.found(c.port, false)
		return dev, nil
	}
	h, err := g.listenFirst(ctx, dev, c, named)
	if err == nil {
		err = g.vouch(c, h, named)
	}
	if err != nil {
		return nil, errors.Join(err, dev.Close())
	}
	return &resumed{device: dev, bytes: h.bytes}, nil
}

// listenFirst listens to a port for the gauge's name.
func (g *serialGauge) listenFirst(ctx context.Context, dev device, c candidate, named string) (heard, error) {
	within := g.nameWithin
	if c.proof {
		within = proofWithin
	}
	closed := make(chan struct{})
	stop := context.AfterFunc(ctx, func() {
		defer close(closed)
		dev.Close()
	})
	defer func() {
		if !stop() {
			<-closed
		}
	}()
	h, err := probe(ctx, dev, within, func() bool {
		// The port that was asked for is back: whatever this one is can wait.
		back := realPort(g.address.Target)
		return c.proof && c.port != named && g.wasRefused(back) == 0 && g.exists(back)
	})
	if err != nil && !errors.Is(err, errNoName) {
		return h, classify(reading, g.at(c.port), err)
	}
	return h, nil
}

// vouch decides whether what was heard is our gauge, and remembers it either way.
func (g *serialGauge) vouch(c candidate, h heard, named string) error {
	m := &g.memory
	switch {
	case h.serial == m.serial, h.serial == "" && !c.proof:
		// One that did not say its name is checked when it does; see voucher.
		g.found(c.port, h.restarted)
		return nil
	case h.serial == "":
		m.refuse(c.port, "", time.Now())
		return g.strangerAt(c.port, "")
	}
	r, before := m.standing(c.port)
	if c.port == named && before && r.serial == h.serial && time.Since(r.first) >= g.adoptAfter && g.claims.wantedBy(h.serial, m) == "" {
		g.adopt(c.port, h)
		return nil
	}
	return g.refuse(c.port, h.serial)
}

// refuse notes that another gauge answers at a port and returns the error that says so.
func (g *serialGauge) refuse(port, serial string) error {
	g.claims.meet(serial, port)
	g.memory.refuse(port, serial, time.Now())
	return g.strangerAt(port, serial)
}

// strangerAt says that a port is not our gauge's.
func (g *serialGauge) strangerAt(port, serial string) error {
	m := &g.memory
	var what string
	switch other := g.claims.wantedBy(serial, m); {
	case serial == "":
		what = fmt.Sprintf("the device at %s does not say that it is %s; plug %s in again", port, m.serial, m.serial)
	case other != "":
		what = fmt.Sprintf("another gauge answers at %s: %s, which belongs to %s, not %s; the two may have changed ports: plug %s in",
			port, serial, other, m.serial, m.serial)
	default:
		what = fmt.Sprintf("another gauge answers at %s: %s, not %s; plug %s in again, or leave %s there and it is taken in its place after %.0f s",
			port, serial, m.serial, m.serial, serial, g.adoptAfter.Seconds())
	}
	return &PortError{Address: g.address, Fault: FaultStranger, text: fmt.Sprintf("gauge %s: %s", g.address, what)}
}

// adopt takes another gauge in place of the one known, and says so.
func (g *serialGauge) adopt(port string, h heard) {
	m := &g.memory
	was := m.serial
	m.serial = h.serial
	delete(m.refused, port)
	g.claims.want(h.serial, m)
	m.opened(port, g.ports())
	notice := fmt.Sprintf("gauge %s was taken in place of %s; what is known of %s, such as its calibration, does not hold for it", h.serial, was, was)
	g.log.Warn(notice, "port", port)
	g.openedAt(port, notice)
}

// found notes that the gauge is at a port, and says so if that is another one.
func (g *serialGauge) found(port string, restarted bool) {
	m := &g.memory
	before := m.port
	m.opened(port, g.ports())
	delete(m.refused, port)
	var notice string
	if before != "" && before != port {
		notice = "the gauge was found again as " + port
		g.log.Info(notice, "before", before)
	}
	if m.restarts++; !restarted {
		m.restarts = 0
	}
	if m.restarts >= restartsTell && g.address.DTR != LevelOff {
		notice = dtrHint
		g.log.Warn(dtrHint)
	}
	g.openedAt(port, notice)
}

const (
	// restartsTell openings after which the gauge began anew are no accident.
	restartsTell = 2
	dtrHint      = "the gauge restarts each time its port is opened; add dtr=off to its address, as in ?dtr=off, if its board can do without"
)

// ports lists the ports there are. Without a list, the gauge can only come back
// under its own name.
func (g *serialGauge) ports() []Port {
	ports, err := g.list()
	if err != nil {
		g.log.Debug("serial ports cannot be listed", "error", err)
	}
	return ports
}

// exists reports whether there is a port of that real name. Where that cannot be told
// it is taken to be there: a port that works must not be given up for want of a list.
func (g *serialGauge) exists(port string) bool {
	if runtime.GOOS != "windows" {
		return exists(port)
	}
	return isListed(g.list, port)
}

func isListed(list func() ([]Port, error), port string) bool {
	ports, err := list()
	return err != nil || slices.ContainsFunc(ports, func(p Port) bool { return realPort(p.Device) == port })
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// isLink reports whether a name only leads to a port.
func isLink(name string) bool {
	if runtime.GOOS == "windows" {
		return false
	}
	target, err := filepath.EvalSymlinks(name)
	if err != nil {
		// A link to nowhere is one still.
		info, err := os.Lstat(name)
		return err == nil && info.Mode()&os.ModeSymlink != 0
	}
	return target != filepath.Clean(name)
}

func isFault(err error, f Fault) bool {
	pe, ok := errors.AsType[*PortError](err)
	return ok && pe.Fault == f
}

// portOf is an open port that gives its claim back when it is closed, and that ends
// when its device has vanished and the driver does not tell.
type portOf struct {
	device
	port    string
	exists  func(port string) bool
	seen    bool // it existed when it was opened: some that work are on no list
	release func()
	quiet   time.Duration
}

// vanishedAfter is how long a port must be quiet before it is looked for.
const vanishedAfter = time.Second

// errVanished is what some drivers should say and do not.
var errVanished = errors.New("the port is no longer there")

// Read implements [io.Reader].
func (p *portOf) Read(b []byte) (int, error) {
	n, err := p.device.Read(b)
	if n > 0 || err != nil {
		p.quiet = 0
		return n, err
	}
	if p.quiet += readTimeout; p.quiet >= vanishedAfter {
		p.quiet = 0
		if p.seen && !p.exists(p.port) {
			return 0, errVanished
		}
	}
	return 0, nil
}

// Close implements [io.Closer].
func (p *portOf) Close() error {
	err := p.device.Close()
	p.release()
	return err
}
