//go:build unix

package gauge_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge"
)

// socket is a list of ports that a test plugs and unplugs.
type socket struct {
	mu    sync.Mutex
	ports []gauge.Port
	looks int // how often it was listed
}

func (s *socket) plug(ports ...gauge.Port) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.ports = ports
}

func (s *socket) list() ([]gauge.Port, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.looks++
	return slices.Clone(s.ports), nil
}

func (s *socket) looked() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.looks
}

// usb is a port as an enumerator tells of it.
func usb(port, serial string) gauge.Port {
	return gauge.Port{Device: port, USB: true, VID: "1a86", PID: "7523", Serial: serial}
}

// answering makes the other side of a terminal a gauge of the given serial number
// that says who it is whenever it is asked, and readings after that. It counts how
// often it was asked.
func answering(t *testing.T, p *terminal, serial string, from uint32) *asked {
	t.Helper()
	a := &asked{}
	done := make(chan struct{})
	go func() {
		defer close(done)
		seq := from
		buffer := make([]byte, 64)
		for {
			n, err := p.gauge.Read(buffer)
			if err != nil {
				return
			}
			if !bytes.Contains(buffer[:n], []byte("?")) {
				continue
			}
			a.add()
			if _, err := io.WriteString(p.gauge, line("BTID,1,"+serial+",G,-7500,7500,0.5,100")+readings(seq, seq+2)); err != nil {
				return
			}
			seq += 2
		}
	}()
	t.Cleanup(func() { p.gauge.Close(); <-done })
	return a
}

type asked struct {
	mu sync.Mutex
	n  int
}

func (a *asked) add() { a.mu.Lock(); a.n++; a.mu.Unlock() }

func (a *asked) times() int { a.mu.Lock(); defer a.mu.Unlock(); return a.n }

// journal is a log that may be read while it is written.
type journal struct {
	mu   sync.Mutex
	text strings.Builder
}

func (j *journal) Write(p []byte) (int, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.text.Write(p)
}

func (j *journal) String() string {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.text.String()
}

// keeping keeps the gauge at the address open into a recorder. It takes another in
// place of its own after a second, and believes a nameless one after half of that.
func keeping(t *testing.T, address string, o gauge.Options) (*running, *recorder, *journal) {
	t.Helper()
	a, err := gauge.ParseAddress(address)
	require.NoError(t, err)
	log := &journal{}
	o.Logger = slog.New(slog.NewTextHandler(log, nil))
	g, err := gauge.Open(a, o)
	require.NoError(t, err)
	gauge.AdoptAfter(g, time.Second)
	gauge.BelieveAfter(g, time.Second/2)
	sink := newRecorder()
	r := start(t, g, func(ctx context.Context) error { return gauge.Keep(ctx, g, sink, gauge.KeepOptions{Logger: o.Logger}) })
	return r, sink, log
}

// until waits for what must come.
func until(t *testing.T, what string, ok func() bool) {
	t.Helper()
	require.Eventually(t, ok, patience, 5*time.Millisecond, what)
}

// identified returns the serial numbers the sink was told, in order.
func (r *recorder) identified() []string {
	r.mu.Lock()
	defer r.mu.Unlock()
	var serials []string
	for _, id := range r.identities {
		serials = append(serials, id.Serial)
	}
	return serials
}

func TestAGaugeIsFoundAgainUnderAnotherName(t *testing.T) {
	for _, c := range []struct{ name, usbSerial string }{
		{"by the USB serial number of its adapter", "A50285BI"},
		{"by what it says itself, where the adapter has no number", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			first, second := newTerminal(t), newTerminal(t)
			var bus socket
			bus.plug(usb(first.port, c.usbSerial))
			answering(t, first, "HX-0417", 1)
			r, sink, log := keeping(t, "serial:"+first.port, gauge.Options{Ports: bus.list})
			sink.await(t, 2)

			bus.plug(usb(second.port, c.usbSerial))
			answering(t, second, "HX-0417", 1)
			first.unplug(t)
			sink.await(t, 4)
			assert.Equal(t, second.port, r.Stats().Port)
			assert.Equal(t, "the gauge was found again as "+second.port, r.Stats().Trouble)
			assert.True(t, r.Stats().Up)
			assert.Contains(t, log.String(), "found again as "+second.port)
			r.stop()
			require.NoError(t, r.ended(t))
			assert.Equal(t, "IRBIR", sink.order)
			assert.EqualValues(t, 1, r.Stats().Reconnects)
		})
	}
}

func TestOtherPortsAreNotOpenedToLook(t *testing.T) {
	first, bystander, other := newTerminal(t), newTerminal(t), newTerminal(t)
	stood := answering(t, bystander, "HX-9999", 1)
	foreign := answering(t, other, "HX-9998", 1)
	answering(t, first, "HX-0417", 1)
	var bus socket
	// One of the same kind that was there all the time, and one of another kind.
	another := usb(other.port, "")
	another.PID = "ea60"
	bus.plug(usb(first.port, ""), usb(bystander.port, ""))
	_, sink, _ := keeping(t, "serial:"+first.port, gauge.Options{Ports: bus.list})
	sink.await(t, 2)
	bus.plug(usb(bystander.port, ""), another)
	first.unplug(t)
	looked := bus.looked()
	until(t, "several attempts", func() bool { return bus.looked() >= looked+3 })
	third := newTerminal(t)
	newcomer := answering(t, third, "HX-0417", 1)
	bus.plug(usb(bystander.port, ""), another, usb(third.port, ""))
	sink.await(t, 4)
	assert.NotZero(t, newcomer.times())
	assert.Zero(t, stood.times(), "what was there before is something else")
	assert.Zero(t, foreign.times(), "another kind is something else")
}

func TestACandidateThatIsAnotherGaugeIsOpenedOnce(t *testing.T) {
	first, wrong := newTerminal(t), newTerminal(t)
	answering(t, first, "HX-0417", 1)
	var bus socket
	bus.plug(usb(first.port, ""))
	r, sink, log := keeping(t, "serial:"+first.port, gauge.Options{Ports: bus.list})
	sink.await(t, 2)
	stranger := answering(t, wrong, "HX-9999", 1)
	bus.plug(usb(wrong.port, ""))
	first.unplug(t)
	until(t, "it is said", func() bool { return strings.Contains(log.String(), "another gauge answers at "+wrong.port) })
	looked := bus.looked()
	until(t, "further attempts", func() bool { return bus.looked() >= looked+2 })
	assert.Equal(t, 1, stranger.times())
	right := newTerminal(t)
	answering(t, right, "HX-0417", 1)
	bus.plug(usb(wrong.port, ""), usb(right.port, ""))
	sink.await(t, 4)
	assert.Equal(t, 1, stranger.times(), "opening resets some devices")
	assert.Equal(t, []string{"HX-0417", "HX-0417"}, sink.identified())
	r.stop()
	require.NoError(t, r.ended(t))
}

// TestTwoGaugesThatChangePlaces swaps the names of two ports.
func TestTwoGaugesThatChangePlaces(t *testing.T) {
	dir := t.TempDir()
	one, two := filepath.Join(dir, "one"), filepath.Join(dir, "two")
	link := func(name string, p *terminal) {
		require.NoError(t, os.RemoveAll(name))
		require.NoError(t, os.Symlink(p.port, name))
	}
	a, b, a2, b2 := newTerminal(t), newTerminal(t), newTerminal(t), newTerminal(t)
	link(one, a)
	link(two, b)
	answering(t, a, "HX-A", 1)
	answering(t, b, "HX-B", 1)
	o := gauge.Options{Claims: gauge.NewClaims(), Ports: func() ([]gauge.Port, error) { return nil, nil }}
	ra, sa, la := keeping(t, "left=serial:"+one, o)
	rb, sb, lb := keeping(t, "right=serial:"+two, o)
	sa.await(t, 2)
	sb.await(t, 2)

	answering(t, a2, "HX-A", 1)
	answering(t, b2, "HX-B", 1)
	link(one, b2)
	link(two, a2)
	a.unplug(t)
	b.unplug(t)
	sa.await(t, 4)
	sb.await(t, 4)
	assert.Equal(t, a2.port, ra.Stats().Port)
	assert.Equal(t, b2.port, rb.Stats().Port)
	both := la.String() + lb.String()
	assert.Contains(t, both, "another gauge answers at")
	assert.Contains(t, both, "the two may have changed ports")
	for _, r := range []*running{ra, rb} {
		r.stop()
		require.NoError(t, r.ended(t))
	}
	assert.Equal(t, []string{"HX-A", "HX-A"}, sa.identified(), "not a reading of the other")
	assert.Equal(t, []string{"HX-B", "HX-B"}, sb.identified())
}

func TestAGaugeThatAnswersLateAsAnotherIsNoticed(t *testing.T) {
	first, second := newTerminal(t), newTerminal(t)
	name := filepath.Join(t.TempDir(), "port")
	require.NoError(t, os.Symlink(first.port, name))
	answering(t, first, "HX-0417", 1)
	r, sink, _ := keeping(t, "serial:"+name, gauge.Options{})
	sink.await(t, 2)
	require.NoError(t, os.Remove(name))
	require.NoError(t, os.Symlink(second.port, name))
	first.unplug(t)
	// It does not hear us, and says its name long after its readings.
	second.say(t, readings(1, 3))
	sink.await(t, 4)
	second.say(t, line("BTID,1,HX-9999,G,-7500,7500,0.5,100")+readings(3, 9))
	until(t, "it is said", func() bool {
		return strings.Contains(r.Stats().Trouble, "another gauge answers at "+second.port+": HX-9999, not HX-0417")
	})
	r.stop()
	require.NoError(t, r.ended(t))
	assert.Equal(t, 4, sink.count(), "none after it was known")
	assert.Equal(t, "IRBIRB", sink.order)
}

func TestNoReadingsCountBeforeAGaugeHadTheTimeToSayItsName(t *testing.T) {
	const every = 5 * time.Second // a gauge says its name, by the protocol
	assert.Greater(t, gauge.NameWithin, every)
	first, second := newTerminal(t), newTerminal(t)
	name := filepath.Join(t.TempDir(), "port")
	require.NoError(t, os.Symlink(first.port, name))
	answering(t, first, "HX-0417", 1)
	r, sink, _ := keeping(t, "serial:"+name, gauge.Options{})
	sink.await(t, 2)
	second.say(t, readings(1, 9))
	stranger := answering(t, second, "HX-9999", 9)
	require.NoError(t, os.Remove(name))
	require.NoError(t, os.Symlink(second.port, name))
	first.unplug(t)
	until(t, "it is asked", func() bool { return stranger.times() > 0 })
	until(t, "it is said", func() bool { return strings.Contains(r.Stats().Trouble, "HX-9999, not HX-0417") })
	r.stop()
	require.NoError(t, r.ended(t))
	assert.Equal(t, 2, sink.count())
}

func TestAnotherGaugeInPlaceOfOneThatIsGoneIsTakenAndSaid(t *testing.T) {
	first, spare := newTerminal(t), newTerminal(t)
	name := filepath.Join(t.TempDir(), "port")
	require.NoError(t, os.Symlink(first.port, name))
	answering(t, first, "HX-0417", 1)
	r, sink, log := keeping(t, "serial:"+name, gauge.Options{})
	sink.await(t, 2)
	answering(t, spare, "HX-0500", 1)
	require.NoError(t, os.Remove(name))
	require.NoError(t, os.Symlink(spare.port, name))
	first.unplug(t)
	sink.await(t, 4)
	assert.Contains(t, log.String(), "another gauge answers at "+spare.port+": HX-0500, not HX-0417; plug HX-0417 in again, or leave HX-0500 there and it is taken in its place after 1 s")
	assert.Contains(t, r.Stats().Trouble, "gauge HX-0500 was taken in place of HX-0417")
	r.stop()
	require.NoError(t, r.ended(t))
	assert.Equal(t, []string{"HX-0417", "HX-0500"}, sink.identified())
	assert.Equal(t, "IRBIR", sink.order)
}

func TestAGaugeThatAnotherOfThisProgramMissesIsNotTaken(t *testing.T) {
	dir := t.TempDir()
	one, two := filepath.Join(dir, "one"), filepath.Join(dir, "two")
	a, b, b2 := newTerminal(t), newTerminal(t), newTerminal(t)
	require.NoError(t, os.Symlink(a.port, one))
	require.NoError(t, os.Symlink(b.port, two))
	answering(t, a, "HX-A", 1)
	answering(t, b, "HX-B", 1)
	o := gauge.Options{Claims: gauge.NewClaims()}
	_, sa, la := keeping(t, "left=serial:"+one, o)
	_, sb, _ := keeping(t, "right=serial:"+two, o)
	sa.await(t, 2)
	sb.await(t, 2)
	// Both go, and only the right one comes back, under the left one's name.
	require.NoError(t, os.Remove(two))
	require.NoError(t, os.Remove(one))
	require.NoError(t, os.Symlink(b2.port, one))
	a.unplug(t)
	b.unplug(t)
	answering(t, b2, "HX-B", 1)
	sb.await(t, 4)
	assert.Equal(t, []string{"HX-A"}, sa.identified())
	assert.Equal(t, []string{"HX-B", "HX-B"}, sb.identified())
	until(t, "it is said", func() bool { return strings.Contains(la.String(), "which belongs to right, not HX-A") })
}

func TestAPortOfAnotherGaugeIsNotTaken(t *testing.T) {
	p := newTerminal(t)
	answering(t, p, "HX-0417", 1)
	o := gauge.Options{Claims: gauge.NewClaims()}
	_, sink, _ := keeping(t, "left=serial:"+p.port, o)
	sink.await(t, 2)
	r, _, _ := keeping(t, "right=serial:"+p.port, o)
	until(t, "it is said", func() bool {
		return strings.Contains(r.Stats().Trouble, "the port is in use by gauge left of this program")
	})
}

func TestReplugsAtRest(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "port")
	now := newTerminal(t)
	require.NoError(t, os.Symlink(now.port, name))
	answering(t, now, "HX-0417", 1)
	r, sink, _ := keeping(t, "serial:"+name, gauge.Options{})
	sink.await(t, 2)
	for round := range 3 {
		next := newTerminal(t)
		answering(t, next, "HX-0417", 1)
		require.NotEqual(t, now.port, next.port)
		require.NoError(t, os.Remove(name))
		now.unplug(t)
		until(t, "it is missed", func() bool { return r.Stats().Phase == gauge.PhaseLost })
		require.NoError(t, os.Symlink(next.port, name))
		until(t, "it is back", func() bool { return r.Stats().Up && r.Stats().Reconnects == uint64(round+1) })
		now = next
	}
	r.stop()
	require.NoError(t, r.ended(t))
	assert.Equal(t, "IRBIRBIRBIR", sink.order)
	assert.EqualValues(t, 3, r.Stats().Reconnects)
	for i := range sink.readings[1:] {
		assert.Less(t, sink.readings[i].T, sink.readings[i+1].T, fmt.Sprint(i))
	}
}
