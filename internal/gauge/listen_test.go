package gauge_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge"
	"boretight/internal/trace"
)

// script is a device that says one text after another, a period apart, and then
// nothing. It reads like a serial port: 0 bytes and no error when nothing came.
type script struct {
	texts  []string
	period time.Duration

	mu     sync.Mutex
	asked  []time.Duration // when it was written to, from its making
	made   time.Time
	closed chan struct{}
	close  func()
}

func newScript(period time.Duration, texts ...string) *script {
	s := &script{texts: texts, period: period, made: time.Now(), closed: make(chan struct{})}
	s.close = sync.OnceFunc(func() { close(s.closed) })
	return s
}

func (s *script) Read(p []byte) (int, error) {
	wait := gauge.ReadTimeout
	if len(s.texts) > 0 {
		wait = s.period
	}
	select {
	case <-s.closed:
		return 0, errors.New("closed")
	case <-time.After(wait):
	}
	if len(s.texts) == 0 {
		return 0, nil
	}
	n := copy(p, s.texts[0])
	s.texts = s.texts[1:]
	return n, nil
}

func (s *script) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.asked = append(s.asked, time.Since(s.made))
	return len(p), nil
}

func (s *script) Close() error { s.close(); return nil }

func (s *script) writes() []time.Duration {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.asked
}

func fake(d io.ReadWriteCloser, log io.Writer) gauge.Gauge {
	return gauge.NewFake(func() (io.ReadWriteCloser, error) { return d, nil },
		gauge.Options{Logger: slog.New(slog.NewTextHandler(log, nil))})
}

func TestSilenceIsToldWhileTheDeviceStaysOpen(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var log bytes.Buffer
		sink := newRecorder()
		g := fake(newScript(time.Millisecond, identity, readings(1, 3)), &log)
		r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
		time.Sleep(gauge.SilentAfter / 2)
		assert.Equal(t, gauge.PhaseReading, r.Stats().Phase)
		assert.True(t, r.Stats().Up)
		time.Sleep(gauge.SilentAfter)
		synctest.Wait()
		stats := r.Stats()
		assert.Equal(t, gauge.PhaseSilent, stats.Phase)
		assert.Equal(t, "nothing comes from the gauge: check its power, its cable and the baud rate", stats.Trouble)
		assert.False(t, stats.Up)
		assert.Greater(t, stats.Silent, gauge.SilentAfter)
		r.stop()
		require.NoError(t, r.ended(t))
		assert.Equal(t, 1, strings.Count(log.String(), "nothing comes from the gauge"), "said once")
		assert.Zero(t, r.Stats().Silent, "a closed device is not silent")
		assert.Equal(t, "IRB", sink.order, "what was going on has ended, once")
	})
}

func TestADeviceThatSpeaksAgainIsUp(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sink := newRecorder()
		g := fake(newScript(2*gauge.SilentAfter, readings(1, 2), readings(2, 3)), io.Discard)
		r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
		time.Sleep(4*gauge.SilentAfter - time.Millisecond)
		require.Equal(t, gauge.PhaseSilent, r.Stats().Phase)
		time.Sleep(time.Millisecond)
		synctest.Wait()
		assert.Equal(t, gauge.PhaseReading, r.Stats().Phase)
		assert.Empty(t, r.Stats().Trouble)
	})
}

func TestBytesWithoutFramesEndTheRunAfterAWhile(t *testing.T) {
	for _, c := range []struct{ name, text string }{
		{"lines", "hello\r\n"},
		{"bytes without any line end", strings.Repeat("\xE0", 64)},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				texts := make([]string, 1000)
				for i := range texts {
					texts[i] = c.text
				}
				began := time.Now()
				var log bytes.Buffer
				g := fake(newScript(20*time.Millisecond, texts...), &log)
				r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, newRecorder()) })
				time.Sleep(2 * time.Second)
				assert.Equal(t, gauge.PhaseUndecodable, r.Stats().Phase, "known long before")
				err := r.ended(t)
				assert.EqualError(t, err, "gauge serial:fake?baud=0: only undecodable bytes: wrong baud rate or another dialect?")
				assert.ErrorIs(t, err, gauge.ErrUndecodable)
				assert.Equal(t, gauge.DecodeWithin, time.Since(began))
				assert.Equal(t, gauge.PhaseUndecodable, r.Stats().Phase)
				assert.Equal(t, 1, strings.Count(log.String(), "undecodable"), "said once")
			})
		})
	}
}

func TestNoiseAtTheStartDoesNotEndTheRun(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sink := newRecorder()
		texts := []string{}
		for range 30 {
			texts = append(texts, "boot message\r\n")
		}
		texts = append(texts, readings(1, 2))
		g := fake(newScript(100*time.Millisecond, texts...), io.Discard)
		r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
		time.Sleep(gauge.DecodeWithin + gauge.SilentAfter)
		synctest.Wait()
		assert.Equal(t, 1, sink.count())
		r.stop()
		require.NoError(t, r.ended(t))
	})
}

func TestAGaugeIsAskedTwiceUnlessItAnswers(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []time.Duration
	}{
		{"one that does not answer", readings(1, 2), []time.Duration{0, gauge.AskAgain}},
		{"one that answers", identity, []time.Duration{0}},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				d := newScript(time.Millisecond, c.text)
				g := fake(d, io.Discard)
				r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, newRecorder()) })
				time.Sleep(10 * gauge.AskAgain)
				r.stop()
				require.NoError(t, r.ended(t))
				assert.Equal(t, c.want, d.writes())
			})
		})
	}
}

// mute is a device whose writes never return until the test lets them.
type mute struct {
	*script
	letGo chan struct{}
}

func (m *mute) Write([]byte) (int, error) { <-m.letGo; return 0, errors.New("closed") }

func TestAWriteThatNeverReturnsDoesNotHoldUpTheEnd(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var log bytes.Buffer
		d := &mute{newScript(time.Millisecond, readings(1, 2)), make(chan struct{})}
		defer close(d.letGo)
		sink := newRecorder()
		g := fake(d, &log)
		r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
		sink.await(t, 1)
		r.stop()
		require.NoError(t, r.ended(t))
		assert.Contains(t, log.String(), "a write to the gauge does not return")
	})
}

func TestARestartOfTheGaugeIsABreak(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sink := newRecorder()
		g := fake(newScript(time.Millisecond, identity+readings(5000, 5003)+readings(0, 2)), io.Discard)
		r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
		sink.await(t, 5)
		r.stop()
		require.NoError(t, r.ended(t))
		assert.Equal(t, "IRBR", sink.order)
		assert.Zero(t, r.Stats().Reconnects)
	})
}

func TestTimeGoesOnFromOneReadingToTheNextOverAnInterruption(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		sink := newRecorder()
		// The second time, the board starts for two seconds before it says anything.
		devices := []*script{newScript(time.Millisecond, readings(1, 3)), newScript(2*time.Second, readings(1, 3))}
		g := gauge.NewFake(func() (io.ReadWriteCloser, error) {
			d := devices[0]
			devices = devices[1:]
			return d, nil
		}, gauge.Options{})
		one := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
		sink.await(t, 2)
		one.stop()
		require.NoError(t, one.ended(t))
		time.Sleep(5 * time.Second)
		two := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
		sink.await(t, 4)
		two.stop()
		require.NoError(t, two.ended(t))
		assert.Equal(t, 7*time.Second, sink.readings[2].T-sink.readings[1].T)
	})
}

func TestAGaugeThatGivesNoReadingsAnyMoreSaysWhy(t *testing.T) {
	var standing, naming []string
	for n := range uint32(50) {
		standing = append(standing, line(fmt.Sprintf("BTRD,%d,2000,1.5,,00", n+3)))
		naming = append(naming, identity)
	}
	for _, c := range []struct {
		name  string
		texts []string
		want  string
	}{
		{"one whose clock stands still", standing, "the gauge's clock stands still: t_us must count microseconds"},
		{"one that says its name only", naming, "the gauge speaks, but gives no readings: restart it, or look at its display"},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				sink := newRecorder()
				g := fake(newScript(100*time.Millisecond, append([]string{identity + readings(1, 3)}, c.texts...)...), io.Discard)
				r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
				time.Sleep(gauge.SilentAfter + 300*time.Millisecond)
				assert.Equal(t, gauge.PhaseUndecodable, r.Stats().Phase)
				assert.Equal(t, c.want, r.Stats().Trouble)
				r.stop()
				require.NoError(t, r.ended(t))
				assert.Equal(t, "IRB", sink.order)
				assert.EqualError(t, sink.breaks[0], c.want)
			})
		})
	}
}

func TestAnAbsoluteGaugeThatIsBackIsStillAbsolute(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		absolute := line("BTID,1,ABS-1,A,30000,110000,1,100")
		devices := []*script{
			newScript(time.Millisecond, absolute+readings(1, 3)),
			newScript(time.Millisecond, readings(1, 3), absolute+readings(3, 5)),
		}
		g := gauge.NewFake(func() (io.ReadWriteCloser, error) {
			d := devices[0]
			devices = devices[1:]
			return d, nil
		}, gauge.Options{})
		sink := newRecorder()
		for _, n := range []int{2, 6} {
			r := start(t, g, func(ctx context.Context) error { return g.Run(ctx, sink) })
			sink.await(t, n)
			r.stop()
			require.NoError(t, r.ended(t))
		}
		require.Len(t, sink.identities, 3)
		assert.Equal(t, gauge.Identity{Kind: trace.Absolute}, sink.identities[1], "before it says so again")
		assert.Empty(t, sink.breaks, "and then there is nothing new in that")
	})
}
