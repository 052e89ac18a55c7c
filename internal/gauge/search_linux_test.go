package gauge_test

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"golang.org/x/sys/unix"

	"boretight/internal/gauge"
	"boretight/internal/gauge/text"
)

// atRate has a terminal speak as a device that knows one rate does: what it says comes out
// as noise at another. It says one line after the other, fifty times a second, until the test ends,
// and counts what it is asked.
func atRate(t *testing.T, p *terminal, baud uint32, next func(i int) string) *asked {
	t.Helper()
	a := &asked{}
	stop := make(chan struct{})
	var working sync.WaitGroup
	working.Go(func() {
		noise := rand.New(rand.NewPCG(1, uint64(baud)))
		tick := time.NewTicker(20 * time.Millisecond)
		defer tick.Stop()
		for i := 1; ; i++ {
			select {
			case <-stop:
				return
			case <-tick.C:
			}
			said := []byte(next(i))
			if rateOf(t, p.gauge) != baud {
				for j := range said {
					said[j] = byte(noise.Uint32())
				}
			}
			if _, err := p.gauge.Write(said); err != nil {
				return
			}
		}
	})
	working.Go(func() {
		buffer := make([]byte, 64)
		for {
			n, err := p.gauge.Read(buffer)
			if err != nil {
				return
			}
			for range strings.Count(string(buffer[:n]), "?") {
				a.add()
			}
		}
	})
	t.Cleanup(func() { close(stop); p.gauge.Close(); working.Wait() })
	return a
}

// rateOf returns the rate that the other side of a terminal has set.
func rateOf(t *testing.T, master *os.File) uint32 {
	raw, err := master.SyscallConn()
	if !assert.NoError(t, err) {
		return 0
	}
	var rate uint32
	_ = raw.Control(func(fd uintptr) {
		if settings, err := unix.IoctlGetTermios(int(fd), unix.TCGETS2); err == nil {
			rate = settings.Ospeed
		}
	})
	return rate
}

// found looks at ports and returns what was found at each.
func found(t *testing.T, claims *gauge.Claims, ports ...gauge.Port) map[string]gauge.Found {
	t.Helper()
	all := map[string]gauge.Found{}
	o := gauge.FindOptions{Claims: claims, Ports: func() ([]gauge.Port, error) { return ports, nil }}
	require.NoError(t, gauge.FindFaster(t.Context(), o, 700*time.Millisecond, 900*time.Millisecond, func(f gauge.Found) { all[f.Port.Device] = f }))
	return all
}

// TestGaugesAreFoundAtWhateverRateTheySpeak puts one device at each of several ports and
// looks at all of them at once.
func TestGaugesAreFoundAtWhateverRateTheySpeak(t *testing.T) {
	defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
	frame := func(i int) string { return readings(uint32(i), uint32(i)+1) }
	named := func(i int) string {
		if i%10 == 5 {
			return line("BTID,1,HX-0921,A,0,120000,1,1000")
		}
		return frame(i)
	}
	for name, c := range map[string]struct {
		baud    uint32
		says    func(int) string
		heard   gauge.Heard
		address string
		lines   []string
		open    error
		asked   bool
	}{
		"a gauge that does not say who it is": {baud: 115200, says: frame, heard: gauge.HeardFrames, address: "serial:%s", asked: true},
		"a fast gauge":                        {baud: 921600, says: named, heard: gauge.HeardGauge, address: "serial:%s?baud=921600", asked: true},
		"a gauge that prints numbers": {
			baud: 9600, says: func(i int) string { return fmt.Sprintf("%d P = -%d.50 kPa\r\n", i%7, i%3) }, heard: gauge.HeardText,
			address: "serial:%s?baud=9600&dialect=text", open: text.ErrWhichNumber,
		},
		"a gauge whose lines say all": {
			baud: 9600, says: func(int) string { return "-2.50 kPa\r\n" }, heard: gauge.HeardText,
			address: "serial:%s?baud=9600&dialect=text", lines: []string{"-2.50 kPa", "-2.50 kPa", "-2.50 kPa"},
		},
		"a fast gauge that prints numbers without a unit": {
			baud: 115200, says: func(int) string { return "-2.50\t\xb0 21.5\r\n" }, heard: gauge.HeardText,
			address: "serial:%s?dialect=text", lines: []string{"-2.50° 21.5", "-2.50° 21.5", "-2.50° 21.5"}, open: text.ErrNoUnit,
		},
		"a device of another rate": {baud: 57600, says: frame, heard: gauge.HeardNoise},
		"a gauge of another version": {
			baud: 115200, says: func(int) string { return line("BTID,2,HX-1,G,-7500,7500,0.5,100") }, heard: gauge.HeardFault, asked: false,
		},
	} {
		t.Run(name, func(t *testing.T) {
			p := newTerminal(t)
			a := atRate(t, p, c.baud, c.says)
			f := found(t, nil, gauge.Port{Device: p.port})[p.port]
			assert.Equal(t, c.heard, f.Heard, "%v", f.Err)
			if c.address == "" {
				assert.Empty(t, f.Address.Scheme)
				assert.Error(t, f.Err)
			} else {
				assert.Equal(t, fmt.Sprintf(c.address, p.port), f.Address.String())
			}
			if c.lines != nil {
				assert.Equal(t, c.lines, f.Lines)
			}
			if c.heard == gauge.HeardText {
				assert.ErrorIs(t, f.Err, c.open)
			}
			if c.heard == gauge.HeardGauge {
				assert.Equal(t, "HX-0921", f.Identity.Serial)
				assert.InDelta(t, 120000, f.Identity.MaxPa, 0)
			}
			assert.Equal(t, c.asked, a.times() > 0, "what is no gauge is not written to, asked %d times", a.times())
		})
	}
}

func TestAGaugeThatSpeaksOnlyWhenAskedIsFound(t *testing.T) {
	p, silent := newTerminal(t), newTerminal(t)
	a := answering(t, p, "HX-0417", 1)
	all := found(t, nil, usb(p.port, "A1"), gauge.Port{Device: silent.port}, gauge.Port{Scenario: "oboe-upper"})
	require.Len(t, all, 2, "a simulated gauge is at no port")
	f := all[p.port]
	assert.Equal(t, gauge.HeardGauge, f.Heard)
	assert.Equal(t, "HX-0417", f.Identity.Serial)
	assert.Equal(t, "A1", f.Port.Serial, "and what USB knows of it")
	assert.Equal(t, "serial:"+p.port, f.Address.String())
	assert.NoError(t, f.Err)
	assert.Equal(t, 1, a.times())
	f = all[silent.port]
	assert.Equal(t, gauge.HeardNothing, f.Heard)
	assert.ErrorContains(t, f.Err, "nothing comes")
}

func TestALongNameOfAPortIsLabelledByItsGauge(t *testing.T) {
	p := newTerminal(t)
	answering(t, p, "HX-0417", 1)
	link := t.TempDir() + "/usb-bridge-if00-port0"
	require.NoError(t, os.Symlink(p.port, link))
	f := found(t, nil, gauge.Port{Device: p.port, Stable: link})[p.port]
	assert.Equal(t, "HX-0417=serial:"+link, f.Address.String())
}

func TestPortsThatOthersHaveAreLeftAlone(t *testing.T) {
	p, other := newTerminal(t), newTerminal(t)
	a := answering(t, p, "HX-0417", 1)
	claims := gauge.NewClaims()
	r := newRecorder()
	address, err := gauge.ParseAddress("left=serial:" + p.port)
	require.NoError(t, err)
	g, err := gauge.Open(address, gauge.Options{Claims: claims})
	require.NoError(t, err)
	running := start(t, g, func(ctx context.Context) error { return g.Run(ctx, r) })
	r.await(t, 2)
	asked := a.times()

	all := found(t, claims, gauge.Port{Device: p.port}, gauge.Port{Device: other.port, Note: "in use by screen (process 7)"},
		gauge.Port{Device: "/dev/nowhere"})
	assert.Equal(t, gauge.HeardBusy, all[p.port].Heard)
	assert.ErrorContains(t, all[p.port].Err, "in use by gauge left of this program")
	assert.Equal(t, asked, a.times(), "it was not asked")
	assert.Equal(t, gauge.HeardBusy, all[other.port].Heard)
	assert.ErrorContains(t, all[other.port].Err, "in use by")
	assert.Equal(t, gauge.HeardFault, all["/dev/nowhere"].Heard)
	assert.ErrorIs(t, all["/dev/nowhere"].Err, fs.ErrNotExist)
	running.stop()
	require.NoError(t, running.ended(t))

	again := found(t, claims, gauge.Port{Device: p.port})
	assert.Equal(t, gauge.HeardGauge, again[p.port].Heard, "a port that was given back is looked at")
}

func TestASearchEndsWithItsContext(t *testing.T) {
	defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
	p := newTerminal(t)
	ctx, cancel := context.WithCancel(t.Context())
	listed := func() ([]gauge.Port, error) {
		time.AfterFunc(50*time.Millisecond, cancel)
		return []gauge.Port{{Device: p.port}}, errors.New("half of the list")
	}
	err := gauge.Find(ctx, gauge.FindOptions{Ports: listed}, func(f gauge.Found) { assert.Fail(t, "nothing was known", f) })
	assert.ErrorContains(t, err, "half of the list", "and what is known of the others is told all the same")
}
